"""The first days of working with the loaded register, lived through the same actions that the screens call.

This stands above `kit` and `inspections`, as the tests do: it may call both.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User
from django.db.models import Count, Q, QuerySet
from django.utils import timezone

from demo_fixtures import photos
from demo_fixtures.dates import in_days
from demo_fixtures.depots import EXAMINER, OSTERMERE, QUILLBY
from demo_fixtures.jobs import PAST_JOB
from demo_fixtures.store_list import NOSES
from inspections.actions import record_hold_test
from inspections.actions.attach import attach
from inspections.actions.case_work import add_note
from inspections.actions.cases import open_case
from inspections.actions.concessions import ask, grant
from inspections.judging import HoldTest
from inspections.models import Check, Due, Inspection, NoteKind, QuarantineCase
from kit.models import (
    HOLDING,
    Custody,
    Depot,
    Item,
    Job,
    JobState,
    Outcome,
    Place,
    Reservation,
    Role,
    Settled,
    Standing,
    State,
)
from kit.stores import (
    Act,
    Who,
    acting,
    appoint,
    begin_stock_take,
    close_stock_take,
    finish_issue,
    issue_piece,
    lines_now,
    quarantine,
    reserve,
    see,
    send,
    settle,
    take_back,
)

PASSWORD = "lantern-ropewalk-eel"
"""Of all demo users. It is printed, so it guards nothing: the demo serves this machine alone."""


@dataclass(frozen=True, slots=True)
class Person:
    """A made-up person with one role at both depots."""

    username: str
    first_name: str
    last_name: str
    role: Role


STORES = Person("nell.harrow", "Nell", "Harrow", Role.STORES)
CREW = Person("jory.pike", "Jory", "Pike", Role.CREW)
PLANNER = Person("ada.quill", "Ada", "Quill", Role.PLANNER)
EXAMINES = Person(EXAMINER, "Tobias", "Wren", Role.EXAMINER)
COMPLIANCE = Person("ines.marlow", "Ines", "Marlow", Role.COMPLIANCE)
DUTY = Person("bram.lister", "Bram", "Lister", Role.DUTY)
PEOPLE = (STORES, CREW, PLANNER, EXAMINES, COMPLIANCE, DUTY)

ISSUED_IN_FULL = "QB-101"
ISSUED_SHORT = "OM-201"
RESERVED = (
    "QB-102", "QB-104", "QB-105", "QB-108", "QB-110", "QB-113",
    "OM-202", "OM-204", "OM-205", "OM-208", "OM-210",
)  # fmt: skip
BREAKS = "OM-204"


def engage(act: Act) -> None:
    """One account a role, with that role at both depots."""
    for person in PEOPLE:
        user = User.objects.create_user(
            person.username,
            password=PASSWORD,
            first_name=person.first_name,
            last_name=person.last_name,
        )
        for depot in Depot.objects.all():
            appoint(act, user, depot, person.role)


def live() -> Iterator[str]:
    """Plan, issue, take back, set aside and examine; gives a sentence on each thing that happened.

    Raises NotAllowed if the register is not the one that `make_workbook` made for today.
    """
    yield from _bring_back()
    yield from _load_the_vans()
    for reference in RESERVED:
        _reserve(reference)
    yield f"Planned: {len(RESERVED)} jobs of the coming weeks have their kit reserved ({', '.join(RESERVED)})."
    yield _send_a_nose()
    yield _set_a_detector_aside()
    yield _fail_a_promised_bag()
    yield from _ask_for_concessions()
    yield _count_a_rack()
    yield _photograph_it()


def _who(person: Person, where: str) -> Who:
    return Who(person.username, f"demo, {where}")


def _job(reference: str) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(reference=reference)


def _reserve(reference: str) -> None:
    with acting(_who(PLANNER, "planning")) as act:
        reserve(act, _job(reference))


def _issue(reference: str, why_short: str = "") -> None:
    _reserve(reference)
    with acting(_who(STORES, "counter")) as act:
        for promised in _reservations(reference, Standing.PROMISED):
            issue_piece(act, _job(reference), promised.item)
        finish_issue(act, _job(reference), why_short)


def _reservations(reference: str, standing: Standing) -> list[Reservation]:
    rows = Reservation.objects.filter(job__reference=reference, standing=standing)
    return list(
        rows.select_related("item__kind", "job__depot", "line").order_by("line__position", "item__tag")
    )


def _bring_back() -> Iterator[str]:
    """A van is back: of five bags one is cut and the spare was not used; the examiner does two of the others."""
    _issue(PAST_JOB)
    out = _reservations(PAST_JOB, Standing.ISSUED)
    bags = [each for each in out if each.item.kind.name == "bag"]
    cut, spare, *used = bags
    with acting(_who(STORES, "counter")) as act:
        for each in out:
            if each is cut:
                take_back(
                    act, each, Outcome.DAMAGED, why="skirt cut over 40 mm, found when the bag was dried"
                )
            elif each is spare:
                take_back(act, each, Outcome.UNUSED)
            elif each.item.kind.name == "cap":
                take_back(act, each, Outcome.USED, quantity=each.quantity)
            else:
                take_back(act, each, Outcome.USED)
    waiting = used.pop()
    for each in used:
        _examine(each.item, Decimal("0.002"), "dry, clean, held")
    yield (
        f"Back: {PAST_JOB}, all accounted for. {cut.item} came back damaged and is in quarantine; "
        f"{waiting.item} waits for its check after use."
    )


def _load_the_vans() -> Iterator[str]:
    _issue(ISSUED_IN_FULL)
    yield f"Out: {ISSUED_IN_FULL}, complete."
    why = "The fourth nose follows from Quillby with the relief crew; agreed with the duty manager."
    _issue(ISSUED_SHORT, why)
    yield f"Out: {ISSUED_SHORT}, issued short of one nose, with the reason."


def _send_a_nose() -> str:
    nose = _free("nose", QUILLBY).filter(bore_min_mm=NOSES["N3"][0]).order_by("tag")[0]
    arrives_on = in_days(timezone.localdate(), 1)
    with acting(_who(STORES, "counter")) as act:
        send(act, nose, Depot.objects.get(code=OSTERMERE), arrives_on)
    return f"In transit: {nose}, a nose, from {QUILLBY} to {OSTERMERE}, expected on {arrives_on}."


def _set_a_detector_aside() -> str:
    detector = _free("gas detector", QUILLBY).order_by("-tag")[0]
    with acting(_who(CREW, "report from site")) as act:
        quarantine(act, detector, "fell from the tailgate, reads 3 % in clean air")
    case = open_case(detector)
    if case is not None:
        with acting(_who(EXAMINES, "bench")) as act:
            add_note(act, case, NoteKind.FINDING, "Sensor housing cracked; zero cannot be set any more.")
    return f"Set aside: {detector}, a gas detector, by the van crew."


def _fail_a_promised_bag() -> str:
    promised = next(each for each in _reservations(BREAKS, Standing.PROMISED) if each.item.kind.name == "bag")
    _examine(promised.item, Decimal("0.03"), "leak at the seam")
    broken = Reservation.objects.filter(item=promised.item, standing=Standing.BROKEN).order_by("starts")
    each = ", ".join(
        f"{one.job} ({one.proposed} is proposed instead)" if one.proposed else f"{one.job}"
        for one in broken.select_related("job", "proposed")
    )
    return f"Broken promise: {promised.item} failed its hold test. It was promised to {each}."


def _ask_for_concessions() -> Iterator[str]:
    """One is granted by the duty manager, one waits for them."""
    today = timezone.localdate()
    gauge = _due("gauge", in_days(today, 7))
    with acting(_who(PLANNER, "planning")) as act:
        asked = ask(
            act,
            gauge.item,
            gauge.check_due,
            in_days(today, 21),
            "The test house collects on Fridays only, and the spare is out.",
            "It was well within its class at every calibration so far; a zero check precedes each use.",
            "Zero check before each use, read beside a second gauge.",
        )
    with acting(_who(DUTY, "concessions")) as act:
        grant(act, asked, "Until the test house has it back, no longer.")
    yield (
        f"Conceded: {gauge.item}, a gauge, until {in_days(today, 21)}, asked by the planner and granted by the duty "
        "manager."
    )
    bypass = _due("bypass set", in_days(today, 20))
    with acting(_who(STORES, "counter")) as act:
        ask(
            act,
            bypass.item,
            bypass.check_due,
            in_days(today, 34),
            "It stays mounted on a long job and cannot be brought in for its test.",
            "Leak test before use was good; it is looked over daily where it is mounted.",
        )
    yield f"Asked: a concession for {bypass.item}, a bypass set; the duty manager has yet to decide."


def _count_a_rack() -> str:
    """A place is counted to its end: one hung behind a door, one lay there that belongs elsewhere, a label unknown."""
    depot = Depot.objects.get(code=QUILLBY)
    held = Q(items__custody=Custody.STORE, items__state=State.AVAILABLE)
    places = (
        Place.objects.filter(depot=depot).annotate(lying=Count("items", filter=held)).filter(lying__gte=6)
    )
    place = places.order_by("lying", "name")[0]
    stray = _free("chain set", QUILLBY).exclude(place=place).exclude(place=None).order_by("tag")[0]
    with acting(_who(STORES, "stock-take")) as act:
        take = begin_stock_take(act, depot, place, "monthly count")
        *here, hidden = [now.line for now in lines_now(take)]
        for line in here:
            see(act, take, line.item)
        see(act, take, stray)
        see(act, take, None, "OLD-LABEL-7", "No item bears this label; it is from before the register.")
    with acting(_who(COMPLIANCE, "stock-take")) as act:
        settle(act, hidden, Settled.FOUND, "it hung behind the door")
        for now in lines_now(take):
            if now.sort == "uncounted" and now.line.item:
                settle(act, now.line, Settled.COUNTED, quantity=now.line.item.quantity)
            elif now.sort == "elsewhere":
                settle(act, now.line, Settled.PUT_BACK, "carried back to where it belongs")
            elif now.sort == "unknown":
                settle(act, now.line, Settled.NOTED, "an old label, taken off")
        close_stock_take(act, take)
    return (
        f"Counted: {place} at {depot}, {len(here) + 1} pieces and lots, three differences settled ({take})."
    )


def _photograph_it() -> str:
    """What is set aside has photos, of the case and of the record; a gauge and a detector their certificates."""
    cut = (
        Reservation.objects.select_related("item").get(job__reference=PAST_JOB, outcome=Outcome.DAMAGED).item
    )
    with acting(_who(STORES, "counter")) as act:
        for name, drawn, note in (
            (
                "bag-whole.jpg",
                photos.whole_bag(),
                "The bag as it came back, dried; the chalk line is by the cut",
            ),
            (
                "bag-cut.jpg",
                photos.cut_skirt(),
                "Cut in the skirt beside a rule: 40 mm long, through all plies",
            ),
        ):
            attach(act, cut, name, drawn, case=open_case(cut), note=note)
    leak = (
        Inspection.objects.select_related("item").filter(verdict="fail", note="leak at the seam").latest("pk")
    )
    with acting(_who(EXAMINES, "bench")) as act:
        note = "Bubbles at the seam, ringed in chalk, at 0.2 bar"
        attach(act, leak.item, "seam.jpg", photos.leaking_seam(), inspection=leak, note=note)
    detector = (
        QuarantineCase.objects.select_related("item").filter(item__kind__name="gas detector").latest("pk")
    )
    with acting(_who(CREW, "report from site")) as act:
        attach(act, detector.item, "IMG_0412.jpg", photos.cracked_detector(), case=detector)
    papers = Inspection.objects.exclude(certificate="").filter(corrections__isnull=True, struck=False)
    newest = papers.select_related("item").order_by("-done_on", "-pk")[:6]
    with acting(_who(EXAMINES, "bench")) as act:
        for record in newest:
            page = photos.certificate(
                record.certificate, record.item.tag, str(record.done_on), record.verdict
            )
            name = f"{record.certificate}.pdf".replace("/", "-")
            attach(act, record.item, name, page, inspection=record, note=f"certificate {record.certificate}")
    return f"Attached: photos of {cut}, {leak.item} and {detector.item}, and {len(newest)} certificates."


def _due(kind: str, day: date) -> Due:
    """The first gating check of a piece of that kind at Quillby that falls due on that day."""
    dues = Due.objects.filter(
        item__kind__name=kind, item__depot__code=QUILLBY, due_on=day, check_due__gates=True
    )
    return dues.select_related("item", "check_due").order_by("item__tag")[0]


def _examine(item: Item, drop_bar: Decimal, note: str) -> None:
    """A hold test at the bench, five minutes at 0.2 bar; its verdict follows from the drop."""
    check = Check.objects.in_force().get(kind=item.kind, after_use=True)
    test = HoldTest(Decimal("0.2"), Decimal("0.2") - drop_bar, "bar", minutes=Decimal(5))
    with acting(_who(EXAMINES, "bench")) as act:
        record_hold_test(act, item, check, _bench_gauge(item), test, act.today, by=EXAMINER, note=note)


def _bench_gauge(item: Item) -> Item:
    """The gauge of the item's depot whose calibration lasts longest."""
    gauges = Item.objects.issuable(timezone.localdate()).filter(kind__name="gauge", depot=item.depot)
    return gauges.order_by("-fit_until", "tag")[0]


def _free(kind: str, depot: str) -> QuerySet[Item]:
    """Pieces that meet their recorded requirements for the weeks ahead and that nobody was promised."""
    held = Reservation.objects.filter(standing__in=HOLDING, job__state__in=[JobState.PLANNED, JobState.OUT])
    last_day = in_days(timezone.localdate(), 50)
    return (
        Item.objects.issuable(last_day)
        .filter(kind__name=kind, depot__code=depot)
        .exclude(pk__in=held.values("item"))
    )
