"""The demo: on any day every reason to refuse occurs, most jobs find their kit, and the ledger proves."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client, override_settings
from django.utils import timezone

from demo_fixtures.first_days import BREAKS, ISSUED_IN_FULL, ISSUED_SHORT, PASSWORD, PEOPLE, RESERVED
from demo_fixtures.jobs import PAST_JOB
from inspections.models import Due
from kit.models import (
    Custody,
    Deed,
    Depot,
    Item,
    Job,
    JobState,
    LedgerEntry,
    Membership,
    Outcome,
    Reservation,
    Role,
    Standing,
    State,
)
from kit.planning import KitList
from kit.planning.reasons import REASON_CODES
from kit.stores import Who, acting, differences, found_register, kit_list_of, prove_ledger

# Ends of months and of a year, a leap day, a night on which the clocks change, and days on which the month ends in
# the middle of the demo's tight week.
AWKWARD_DAYS = [
    date(2026, 8, 31),
    date(2027, 2, 18),
    date(2027, 6, 15),
    date(2027, 12, 31),
    date(2028, 2, 29),
    date(2028, 10, 29),
]

QUICK_PASSWORDS = override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"])


def run_demo() -> str:
    said = StringIO()
    with QUICK_PASSWORDS:
        call_command("demo", no_serve=True, stdout=said)
    return said.getvalue()


@pytest.fixture(scope="module")
def lived(django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    """The demo of today, set up once for this module and rolled back after it; gives what the command said.

    Tests that use it are not marked django_db: that would end the transaction it lives in.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        yield run_demo()
        transaction.set_rollback(True)


def kit_lists(all_depots: bool = False) -> dict[str, KitList]:
    jobs = Job.objects.exclude(reference=PAST_JOB).select_related("depot", "arrangement")
    return {job.reference: kit_list_of(job, all_depots=all_depots) for job in jobs}


def codes(kits: dict[str, KitList]) -> Counter[str]:
    return Counter(reason.code for kit in kits.values() for each in kit.refused for reason in each.reasons)


def short(kit: KitList) -> dict[str, int]:
    return {line.line.name: line.short for line in kit.lines if line.short}


@pytest.mark.django_db
@pytest.mark.parametrize("day", AWKWARD_DAYS, ids=str)
def test_on_any_day_every_reason_occurs_and_most_jobs_are_complete(
    day: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = datetime(day.year, day.month, day.day, 9, 30, tzinfo=UTC)
    monkeypatch.setattr(timezone, "now", lambda: moment)
    said = run_demo()
    assert "Proved" in said
    assert "Warnings" not in said
    kits = kit_lists()
    # That a piece is at another depot is said of those on their way; of all others only if they are asked for.
    assert set(codes(kits)) >= set(REASON_CODES) - {"other-depot"}
    assert {reference: set(short(kit)) for reference, kit in kits.items() if not kit.complete} == {
        "OM-201": {"noses"},
        "OM-206": {"gauges"},
        "OM-207": {"seals"},
        "QB-106": {"bags"},
        "QB-114": {"bags"},
    }
    assert Reservation.objects.get(job__reference=BREAKS, standing=Standing.BROKEN).proposed is not None
    assert prove_ledger().fault is None
    assert differences() == []


def test_pieces_of_another_depot_are_refused_for_that(lived: str) -> None:
    assert set(codes(kit_lists(all_depots=True))) == set(REASON_CODES)


def test_one_piece_carries_several_reasons_at_once(lived: str) -> None:
    refused = {each.tag: each for each in kit_lists()["QB-106"].refused if each.line == "bags"}
    most = max(refused.values(), key=lambda each: len(each.reasons))
    assert {reason.code for reason in most.reasons} >= {
        "use-by-before-return",
        "check-due-before-return",
        "quarantined",
    }


def test_a_label_that_names_a_month_decides_between_two_jobs(lived: str) -> None:
    first, second = kit_lists()["QB-113"], kit_lists()["QB-114"]
    [turning] = [
        Item.objects.get(tag=tag)
        for tag in first.lines[0].tags
        if Item.objects.get(tag=tag).fit_until == first.need.return_on
    ]
    assert turning.use_by_precision == "month"
    assert turning.fit_until == turning.use_by
    [refused] = [each for each in second.refused if each.tag == turning.tag]
    assert [reason.code for reason in refused.reasons] == ["use-by-before-return"]
    assert short(second) == {"bags": 1}


def test_three_jobs_of_one_week_want_the_same_bags(lived: str) -> None:
    kits = kit_lists()
    competing = [kits[reference] for reference in ("QB-104", "QB-105", "QB-106")]
    assert max(kit.need.load_on for kit in competing) <= min(kit.need.return_on for kit in competing)
    refused = {
        each.tag
        for each in competing[2].refused
        for reason in each.reasons
        if reason.code == "promised-elsewhere"
    }
    assert set(competing[0].lines[0].tags) | set(competing[1].lines[0].tags) <= refused


def test_a_gauge_is_shared_and_the_remedy_names_what_would_free_one(lived: str) -> None:
    [gauges] = [line for line in kit_lists()["OM-206"].lines if line.short]
    assert (gauges.line.kind, gauges.short) == ("gauge", 1)
    assert "free" in gauges.remedy
    assert gauges.soonest is not None


def test_a_counted_consumable_runs_short(lived: str) -> None:
    [seals] = [line for line in kit_lists()["OM-207"].lines if line.short]
    assert seals.line.counted
    assert 0 < sum(quantity for _, quantity in seals.lots) == 12 - seals.short


def test_each_role_is_held_by_one_person_at_both_depots_and_the_ledger_tells_of_it(lived: str) -> None:
    held = Counter(Membership.objects.values_list("user__username", "role"))
    assert held == {(person.username, person.role): 2 for person in PEOPLE}
    assert {role for _, role in held} == set(Role.values)
    assert LedgerEntry.objects.filter(deed=Deed.APPOINTED).count() == 2 * len(PEOPLE)
    assert User.objects.count() == len(PEOPLE)
    assert not User.objects.filter(is_superuser=True).exists()


def test_everybody_can_sign_in_with_what_was_printed(lived: str) -> None:
    for person in PEOPLE:
        assert f"{person.username} " in lived
        with QUICK_PASSWORDS, transaction.atomic():
            client = Client()
            assert client.login(username=person.username, password=PASSWORD)
            assert client.get("/").status_code == 200
            transaction.set_rollback(True)
    assert PASSWORD in lived


def test_vans_are_out_one_of_them_short_for_a_stated_reason(lived: str) -> None:
    assert set(Job.objects.filter(state=JobState.OUT).values_list("reference", flat=True)) == {
        ISSUED_IN_FULL,
        ISSUED_SHORT,
    }
    [entry] = LedgerEntry.objects.filter(deed=Deed.SHORT)
    body = json.loads(entry.body)
    assert body["about"] == [f"job:{ISSUED_SHORT}"]
    assert body["facts"]["short"] == {"noses": 1}
    assert "duty manager" in body["note"]


def test_the_van_that_is_back_left_a_bag_in_quarantine_and_one_waiting_for_its_check(lived: str) -> None:
    assert Job.objects.get(reference=PAST_JOB).state == JobState.CLOSED
    [damaged] = Reservation.objects.filter(job__reference=PAST_JOB, outcome=Outcome.DAMAGED)
    assert damaged.item.state == State.QUARANTINED
    [waiting] = Due.objects.filter(note__startswith="used, awaiting")
    assert waiting.item.state == State.AVAILABLE
    assert waiting.item.fit_until is None


def test_a_piece_travels_and_half_of_the_jobs_hold_their_kit(lived: str) -> None:
    [moving] = Item.objects.filter(custody=Custody.IN_TRANSIT)
    assert (moving.depot.code, moving.transit_to.code) == ("Quillby", "Ostermere")
    held = set(Reservation.objects.holding().values_list("job__reference", flat=True))
    assert held == {*RESERVED, ISSUED_IN_FULL, ISSUED_SHORT}
    assert len(held) == 13


@pytest.mark.parametrize("reference", ["QB-106", "OM-207", "OM-201", "QB-113"])
def test_a_kit_list_is_as_the_design_has_it(
    lived: str, reference: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code = 0
    try:
        call_command("kit_list", reference, "--format", "json", "--all-depots")
    except SystemExit as stop:
        code = int(stop.code or 0)
    kit = json.loads(capsys.readouterr().out)
    assert list(kit) == [
        "job", "as_of", "load_on", "return_on", "bore_mm", "complete", "lines", "refused", "also_fit",
    ]  # fmt: skip
    assert (kit["job"], code) == (reference, 0 if kit["complete"] else 1)
    assert kit["complete"] is not any(line["short"] for line in kit["lines"])
    assert isinstance(kit["bore_mm"], float)
    counted = {kind for kind in ("seal", "cap", "leak-detection fluid", "lubricant")}
    for line in kit["lines"]:
        pieces = "lots" if line["kind"] in counted else "tags"
        assert set(line) == {"line", "kind", "needed", pieces, "short", "soonest", "remedy"}
        have = sum(lot["quantity"] for lot in line["lots"]) if pieces == "lots" else len(line["tags"])
        assert have + line["short"] == line["needed"]
        assert bool(line["remedy"]) is bool(line["short"])
        assert is_day(line["soonest"]) or line["soonest"] is None
    names = {line["line"] for line in kit["lines"]}
    for each in kit["refused"]:
        assert set(each) == {"tag", "line", "reasons"}
        assert each["line"] in names
        assert each["reasons"]
        for reason in each["reasons"]:
            assert set(reason) == {"code", "date", "text"}
            assert reason["code"] in REASON_CODES
            assert is_day(reason["date"]) or reason["date"] is None
            assert reason["text"].endswith(".")
    for each in kit["also_fit"]:
        assert set(each) == {"tag", "line"}


def is_day(text: str | None) -> bool:
    return text is not None and date.fromisoformat(text).isoformat() == text


def test_a_second_run_leaves_the_demo_as_it_is(lived: str) -> None:
    entries, accounts = LedgerEntry.objects.count(), User.objects.count()
    said = run_demo()
    assert "already" in said
    assert PASSWORD in said
    assert (LedgerEntry.objects.count(), User.objects.count()) == (entries, accounts)


@pytest.mark.django_db
def test_a_database_with_a_register_of_its_own_is_refused_and_left_alone() -> None:
    with acting(Who("s.fen", "test")) as act:
        found_register(act)
    entries = LedgerEntry.objects.count()
    with pytest.raises(CommandError, match="already holds a register") as refused:
        run_demo()
    assert refused.value.returncode == 2
    assert (LedgerEntry.objects.count(), User.objects.count(), Depot.objects.count()) == (entries, 0, 0)


@pytest.mark.django_db
def test_a_database_with_accounts_of_its_own_is_refused() -> None:
    User.objects.create_user("s.fen", password="else")
    with pytest.raises(CommandError, match="user accounts") as refused:
        run_demo()
    assert refused.value.returncode == 2
    assert not LedgerEntry.objects.exists()


@pytest.mark.django_db
def test_what_breaks_off_half_way_leaves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop() -> Iterator[str]:
        raise KeyboardInterrupt
        yield ""

    monkeypatch.setattr("demo_fixtures.first_days.live", stop)
    with pytest.raises(KeyboardInterrupt), transaction.atomic():
        run_demo()
    assert not LedgerEntry.objects.exists()
    assert not Item.objects.exists()
    assert not User.objects.exists()
