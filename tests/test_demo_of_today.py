"""The demo as somebody finds it who starts it today: what was put in on purpose, and what has been lived."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.db import transaction
from django.test import Client

from demo_fixtures.first_days import ISSUED_IN_FULL, ISSUED_SHORT, PASSWORD, PEOPLE, RESERVED
from demo_fixtures.jobs import PAST_JOB
from demo_fixtures.store_list import MOUNTED
from inspections.models import Due
from kit.models import (
    Custody,
    Deed,
    Item,
    Job,
    JobState,
    LedgerEntry,
    Membership,
    Outcome,
    Reservation,
    Role,
    State,
)
from kit.planning.reasons import REASON_CODES
from tests.demo_runs import QUICK_PASSWORDS, codes, kit_lists, run_demo, short


@pytest.fixture(scope="module")
def lived(django_db_setup: None, django_db_blocker: Any) -> Iterator[str]:
    """The demo of today, set up once for this module and rolled back after it; gives what the command said.

    No test of this module is marked django_db: that would end the transaction it lives in, and see the demo.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        yield run_demo()
        transaction.set_rollback(True)


def test_pieces_of_another_depot_are_refused_for_that(lived: str) -> None:
    assert set(codes(kit_lists(all_depots=True))) == set(REASON_CODES)


def test_a_mounted_pair_goes_as_a_whole_and_head_units_share_a_mark(lived: str) -> None:
    kit = kit_lists()["QB-115"]
    assert kit.complete
    on = {line.line.name: line.tags for line in kit.lines}
    pair = set(Item.objects.filter(set_name=MOUNTED).values_list("tag", flat=True))
    assert len(pair) == 2
    taken = {tag for tags in on.values() for tag in tags}
    assert pair <= taken or not pair & taken
    units = [
        sorted(Item.objects.filter(tag__in=on[line]).values_list("mark", flat=True))
        for line in ("bagging heads", "noses", "bases")
    ]
    assert units == [["V8", "V8"]] * 3
    tube = Item.objects.get(set_name=MOUNTED, kind__name="bag tube")
    [refused] = [each for each in kit_lists()["QB-104"].refused if each.tag == tube.tag]
    assert [reason.code for reason in refused.reasons] == ["set-not-whole"]


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
