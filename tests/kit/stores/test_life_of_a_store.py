"""A small store lived at random, through its actions alone: whatever the order, the rules of the trade hold."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule, run_state_machine_as_test

from inspections.actions import CheckSpec, Finding, record, release, set_checks
from inspections.actions.case_work import add_note, consider, leave_rest, look_at, require_retest
from inspections.models import CaseCompanion, Check, QuarantineCase
from kit import stores
from kit.models import Arrangement, Deed, Depot, Item, Job, Kind, LedgerEntry
from kit.stores import Act
from tests.counts import cases
from tests.kit.stores import small_bench, small_store
from tests.kit.stores.life_of_judging import LifeOfJudging
from tests.kit.stores.lived import PEOPLE, Lived, nth, old_screens, people
from tests.kit.stores.reckoning import case_waits
from tests.kit.stores.who_is_barred import barred_now

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long]

STEPS = 30
windows = st.tuples(st.integers(-3, 25), st.integers(0, 10))


class Life(LifeOfJudging, Lived):
    """A store with its bench and its cases; no day passes."""

    @initialize(pieces=st.integers(0, 5), gone=st.booleans())
    def first_van(self, pieces: int, gone: bool) -> None:
        """The first job may be at the counter or out already."""
        job = Job.objects.select_related("depot", "arrangement").get(reference="J1")
        promised = job.reservations.filter(standing="promised").select_related("item").order_by("pk")
        for item in [reservation.item for reservation in promised][:pieces]:
            self.act("a.stores", lambda act, item=item: stores.issue_piece(act, job, item))
        if gone and pieces:
            self.act("a.stores", lambda act: stores.finish_issue(act, job, "the rest follows"))

    # Goods in and the register

    @rule(
        person=people,
        kind=st.sampled_from(["bag", "base", "seal"]),
        tag=nth,
        serial=nth,
        state=st.sampled_from(["available", "available", "quarantined", "lost"]),
        quantity=st.integers(0, 6),
    )
    def receive(self, person: str, kind: str, tag: int, serial: int, state: str, quantity: int) -> None:
        of = Kind.objects.get(name=kind)
        item = Item(
            tag=f"N{tag}",
            kind=of,
            depot=Depot.objects.order_by("code")[tag % 2],
            maker="Anvil & Sons",
            serial="" if of.counted else f"S-B{serial}",
            bore_min_mm=Decimal(150) if of.has_bore else None,
            bore_max_mm=Decimal(170) if of.has_bore else None,
            mark="M3" if of.has_mark else "",
            quantity=quantity if of.counted else 1,
            state=state,
        )
        self.act(person, lambda act: stores.receive(act, [item]))

    @rule(
        person=people,
        n=nth,
        old=old_screens,
        what=st.sampled_from(["use_by", "bore", "mark", "serial", "depot", "made_on"]),
        days=st.one_of(st.none(), st.integers(-5, 40)),
        bores=st.sampled_from([(150, 180), (155, None), (180, 150), (161, 200), (None, None)]),
    )
    def change_details(
        self,
        person: str,
        n: int,
        old: bool,
        what: str,
        days: int | None,
        bores: tuple[int | None, int | None],
    ) -> None:
        item = self.item(n, old)
        low, high = (None if bore is None else Decimal(bore) for bore in bores)
        details: dict[str, Any] = {
            "use_by": {"use_by": None if days is None else self.day(days)},
            "bore": {"bore_min_mm": low, "bore_max_mm": high},
            "mark": {"mark": ("M3", "m3", "M7", "")[n % 4]},
            "serial": {"serial": f"S-B{n}"},
            "depot": {"depot": Depot.objects.order_by("code")[n % 2]},
            "made_on": {"made_on": self.day(days or 0)},
        }[what]
        self.act(person, lambda act: stores.change_details(act, item, **details))

    @rule(person=people, n=nth, old=old_screens, quantity=st.integers(0, 12))
    def count_stock(self, person: str, n: int, old: bool, quantity: int) -> None:
        lot = self.item(n, old, counted=True)
        self.act(person, lambda act: stores.count_stock(act, lot, quantity, "counted"))

    @rule(
        person=people,
        kind=st.sampled_from(["bag", "base", "seal"]),
        changed=st.fixed_dictionaries(
            {},
            optional={
                "margin_days": st.integers(0, 6),
                "turn_round_days": st.integers(0, 6),
                "check_after_use": st.booleans(),
            },
        ),
    )
    def set_kind(self, person: str, kind: str, changed: dict[str, Any]) -> None:
        self.act(person, lambda act: stores.set_kind(act, kind, **changed))

    # Inspections

    @rule(
        person=people,
        by=st.sampled_from(["", *PEOPLE]),
        n=nth,
        which=nth,
        old=old_screens,
        verdict=st.sampled_from(["pass", "pass", "pass", "fail", "doubt"]),
        days=st.sampled_from([0, 0, 0, 1, 4, 60, 200, -1]),
    )
    def record(self, person: str, by: str, n: int, which: int, old: bool, verdict: str, days: int) -> None:
        item = self.item(n, old, counted=False)
        checks = list(Check.objects.filter(kind=item.kind).order_by("retired", "name"))
        if checks:
            finding = Finding(item, checks[which % len(checks)], self.day(-days), verdict, by=by)
            self.act(person, lambda act: record(act, finding))

    @rule(
        person=people,
        kind=st.sampled_from(["bag", "base", "seal"]),
        specs=st.lists(
            st.builds(
                CheckSpec,
                name=st.sampled_from(["hold test", "inspection", "visual"]),
                interval=st.sampled_from(["P6M", "P1Y", "P3M", "P25D", "P1M", "six months"]),
                basis=st.sampled_from(["done", "done", "anchor"]),
                early_days=st.sampled_from([0, 0, 10]),
                gates=st.sampled_from([True, True, True, False]),
                after_use=st.sampled_from([None, None, True, False]),
            ),
            max_size=2,
        ),
    )
    def set_checks(self, person: str, kind: str, specs: list[CheckSpec]) -> None:
        self.act(person, lambda act: set_checks(act, Kind.objects.get(name=kind), specs))

    # Jobs

    @rule(
        person=people,
        n=nth,
        window=windows,
        at=st.sampled_from(["NY", "NY", "NY", "MB"]),
        by=st.sampled_from([small_store.CLOSE, small_store.CLOSE, small_store.WIDE]),
    )
    def plan_job(self, person: str, n: int, window: tuple[int, int], at: str, by: str) -> None:
        load_on, length = window
        job = small_store.new_job(
            f"J{n}",
            Depot.objects.get(code=at),
            Arrangement.objects.get(name=by, current=True),
            self.day(load_on),
            self.day(load_on + length),
        )

        def plan(act: Act) -> None:
            stores.plan_job(act, job)
            if n % 3:
                stores.reserve(act, job)

        self.act(person, plan)

    @rule(
        person=people,
        n=nth,
        old=old_screens,
        changed=st.fixed_dictionaries(
            {},
            optional={
                "load_on": st.integers(-4, 25),
                "return_on": st.integers(-3, 35),
                "bore_mm": st.sampled_from([Decimal(160), Decimal(190), Decimal("155.5"), None]),
                "base_mark": st.sampled_from(["M3", "M7", ""]),
                "arrangement": st.sampled_from([small_store.CLOSE, small_store.WIDE]),
                "depot": st.sampled_from(["NY", "MB"]),
            },
        ),
    )
    def change_job(self, person: str, n: int, old: bool, changed: dict[str, Any]) -> None:
        job = self.job(n, old)
        details = dict(changed)
        for name in ("load_on", "return_on"):
            if name in details:
                details[name] = self.day(details[name])
        if "arrangement" in details:
            details["arrangement"] = Arrangement.objects.get(name=details["arrangement"], current=True)
        if "depot" in details:
            details["depot"] = Depot.objects.get(code=details["depot"])
        self.act(person, lambda act: stores.change_job(act, job, **details))

    @rule(person=people, n=nth, old=old_screens, days=st.sampled_from([2, 3, 5, 8, 15, 1, -1, -3, -8]))
    def move_the_return(self, person: str, n: int, old: bool, days: int) -> None:
        job = self.job(n, old)
        moved = Job.objects.get(pk=job.pk).return_on + timedelta(days=days)
        self.act(person, lambda act: stores.change_job(act, job, return_on=moved))

    # Promises

    @rule(person=people, n=nth, old=old_screens)
    def reserve(self, person: str, n: int, old: bool) -> None:
        job = self.job(n, old)
        self.act(person, lambda act: stores.reserve(act, job))

    @rule(
        person=people, n=nth, old=old_screens, what=st.sampled_from(["one", "one", "one", "all", "the job"])
    )
    def give_up(self, person: str, n: int, old: bool, what: str) -> None:
        job, reservation = self.job(n, old), self.reservation(n, old)
        if what == "one" and reservation is not None:
            self.act(person, lambda act: stores.let_go(act, reservation, "not wanted"))
        elif what == "all":
            self.act(person, lambda act: stores.let_go_all(act, job, "put off"))
        elif what == "the job":
            self.act(person, lambda act: stores.cancel_job(act, job, "main renewed"))

    @rule(person=people, n=nth, other=nth, old=old_screens, proposed=st.booleans())
    def substitute(self, person: str, n: int, other: int, old: bool, proposed: bool) -> None:
        reservation = self.reservation(n, old)
        if reservation is None:
            return
        item = self.item(other, old, kind_id=reservation.line.kind_id)
        if proposed and reservation.proposed_id:
            item = self.item(0, pk=reservation.proposed_id)
        self.act(person, lambda act: stores.substitute(act, reservation, item, "better"))

    # Out and back

    @rule(person=people, n=nth, which=nth, old=old_screens, listed=st.booleans())
    def issue_piece(self, person: str, n: int, which: int, old: bool, listed: bool) -> None:
        job = self.job(n, old)
        promised = job.reservations.filter(standing="promised").values_list("item__tag", flat=True)
        item = self.item(which, old, among=set(promised) if listed else ())
        self.act(person, lambda act: stores.issue_piece(act, job, item))

    @rule(person=people, n=nth, leave_out=st.integers(0, 3), why=st.sampled_from(["", "agreed", "agreed"]))
    def issue_what_is_promised(self, person: str, n: int, leave_out: int, why: str) -> None:
        """Scan all but a few pieces one after the other, as at the counter, and close the issue."""
        job = self.job(n)
        promised = job.reservations.filter(standing="promised").select_related("item").order_by("pk")
        for item in [reservation.item for reservation in promised][leave_out:]:
            self.act(person, lambda act, item=item: stores.issue_piece(act, job, item))
        self.act(person, lambda act: stores.finish_issue(act, job, why))

    @precondition(lambda self: any(row["standing"] == "issued" for row in self.tables["reservation"]))
    @rule(
        person=people,
        n=nth,
        old=old_screens,
        outcome=st.sampled_from(["used", "used", "unused", "damaged", "missing", ""]),
        days=st.sampled_from([0, 0, 0, 1, -1]),
        quantity=st.one_of(st.none(), st.integers(0, 5)),
        why=st.sampled_from(["torn", "left behind", ""]),
    )
    def take_back(
        self, person: str, n: int, old: bool, outcome: str, days: int, quantity: int | None, why: str
    ) -> None:
        reservation = self.reservation(n, old, ("issued",)) or self.reservation(n, False, ("issued",))
        self.act(
            person, lambda act: stores.take_back(act, reservation, outcome, self.day(-days), quantity, why)
        )

    @rule(person=people, n=nth, back=st.booleans())
    def slip_of_the_hand(self, person: str, n: int, back: bool) -> None:
        """A piece is issued, or taken back unused, and that is undone at once: all stands as it stood, or the undo is
        refused.
        """
        row = self.reservation(n, False, ("issued",) if back else ("promised",))
        if row is None:
            return
        before = self.tables
        if back:
            done = self.act(person, lambda act: stores.take_back(act, row, "unused"))
        else:
            done = self.act(person, lambda act: stores.issue_piece(act, row.job, row.item))
        last = stores.last_acts(Depot.objects.all(), most=1)
        if done is None or not last:
            return
        if self.act(person, lambda act: stores.undo(act, last[0].number)) is not None:
            assert self.tables["item"] == before["item"]
            assert [job["state"] for job in self.tables["job"]] == [job["state"] for job in before["job"]]
            [was] = [each for each in before["reservation"] if each["id"] == row.pk]
            assert was in self.tables["reservation"]

    @precondition(lambda self: any(row["standing"] == "issued" for row in self.tables["reservation"]))
    @rule(person=people, n=nth, outcome=st.sampled_from(["used", "unused", "missing"]))
    def take_all_back(self, person: str, n: int, outcome: str) -> None:
        job = self.reservation(n, False, ("issued",)).job

        def take(act: Act) -> None:
            for reservation in job.reservations.filter(standing="issued").order_by("pk"):
                stores.take_back(act, reservation, outcome, why="seen last in the trench")

        self.act(person, take)

    # States and moves

    @rule(
        person=people,
        n=nth,
        old=old_screens,
        what=st.sampled_from(["quarantine", "quarantine", "quarantine", "lose", "lose", "withdraw"]),
    )
    def take_out(self, person: str, n: int, old: bool, what: str) -> None:
        item, do = self.item(n, old), getattr(stores, what)
        self.act(person, lambda act: do(act, item, "smells of oil"))

    @precondition(lambda self: any(row["state"] in ("lost", "quarantined") for row in self.tables["item"]))
    @rule(person=people, n=nth, old=old_screens)
    def bring_back(self, person: str, n: int, old: bool) -> None:
        """Find again what is lost, release what is set aside, by anybody; some pieces are neither."""
        item = self.item(n, old)
        if Item.objects.get(pk=item.pk).state == "lost":
            self.act(person, lambda act: stores.find_again(act, item, "behind the rack"))
            return
        item = self.item(n, old, state="quarantined") or item
        quarantined = Item.objects.get(pk=item.pk).state == "quarantined"
        barred, waits = barred_now(self.tables, item.tag), case_waits(self.tables, item.tag)
        entries = len(self.tables["ledgerentry"])
        self.act(person, lambda act: release(act, item, "cleaned and looked at"))
        released = len(self.tables["ledgerentry"]) > entries
        assert released == (quarantined and person not in barred and not waits), (item.tag, person, barred)

    @precondition(lambda self: self.tables["quarantinecase"])
    @rule(person=people, n=nth, what=st.sampled_from(["look", "look", "rest", "consider", "note", "retest"]))
    def investigate(self, person: str, n: int, what: str) -> None:
        """Work on a case, open or decided: look at what was used with it, consider what is to be considered."""
        listed = list(QuarantineCase.objects.order_by("-decision", "-pk"))
        case = listed[-1 - n % len(listed)]
        companions = list(CaseCompanion.objects.order_by("looked", "pk"))
        if what == "look" and companions:
            looked = "set aside" if n % 3 else "left"
            self.act(person, lambda act: look_at(act, companions[n % len(companions)], looked))
        elif what == "rest":
            self.act(person, lambda act: leave_rest(act, case, "not in use with it"))
        elif what == "consider":
            for key in ("authority", "operator", "maker"):
                self.act(person, lambda act, key=key: consider(act, case, key, "not reported"))
        elif what == "note":
            self.act(person, lambda act: add_note(act, case, "finding", "grease"))
        else:
            self.act(person, lambda act: require_retest(act, case, bool(n % 2), "seen by the maker"))

    @rule(person=people, n=nth, old=old_screens, to=st.integers(0, 1), days=st.integers(-1, 9))
    def send_or_take_in(self, person: str, n: int, old: bool, to: int, days: int) -> None:
        coming, depot = self.item(n, old, custody="in-transit"), Depot.objects.order_by("code")[to]
        if coming is not None and to:
            self.act(person, lambda act: stores.arrive(act, coming))
        else:
            item = self.item(n, old, counted=False)
            self.act(person, lambda act: stores.send(act, item, depot, self.day(days)))


def test_whatever_is_done_in_a_store_the_rules_of_the_trade_hold() -> None:
    small_store.build(timezone.localdate())
    small_bench.build(timezone.localdate())
    run_state_machine_as_test(
        Life, settings=settings(max_examples=cases(8), stateful_step_count=STEPS, deadline=None)
    )


def test_slips_of_the_hand_are_undone_and_the_rules_of_the_trade_hold() -> None:
    small_store.build(timezone.localdate())
    small_bench.build(timezone.localdate())
    life = Life()
    try:
        life.first_van(3, True)
        for n in range(3):
            for back in (False, True):
                life.slip_of_the_hand("a.stores", n, back)
                life.the_rules_hold()
        assert LedgerEntry.objects.filter(deed=Deed.UNDONE).count() >= 4
    finally:
        life.teardown()
