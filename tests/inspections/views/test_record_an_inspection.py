"""Recording a finding at the bench: who may, what a fail does, what is refused and kept."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from inspections.models import Check, Inspection
from kit.models import Item, Kind, Reservation, Standing, State
from kit.stores import prove_ledger, withdraw
from tests.kit.views.holm import Yard


@pytest.fixture
def gauge(yard: Yard) -> Item:
    return yard.receive("G-1", passed=False)


def check(kind: str = "gauge", name: str = "calibration") -> Check:
    return Check.objects.get(kind__name=kind, name=name)


def send(yard: Yard, who: str = "eve", tag: str = "G-1", **sent: object):
    values = {"check_done": check().pk, "done_on": yard.today.isoformat(), "verdict": "pass", **sent}
    return yard.client(who).post(reverse("record", args=[tag]), values, follow=True)


def test_a_pass_makes_it_fit_until_it_is_next_due(yard: Yard, gauge: Item):
    answer = send(yard, certificate="C-12", by="Bench Ltd")
    assert answer.redirect_chain[-1][0] == reverse("item", args=["G-1"])
    made = Inspection.objects.get()
    assert (made.verdict, made.certificate, made.by, made.recorded_by) == ("pass", "C-12", "Bench Ltd", "eve")
    item = Item.objects.get()
    assert item.fit_until is not None
    assert item.fit_until > yard.today
    assert "Calibration of G-1 is recorded: pass." in answer.content.decode()
    assert prove_ledger().fault is None


def test_who_did_it_is_the_one_who_records_unless_another_is_named(yard: Yard, gauge: Item):
    send(yard)
    assert Inspection.objects.get().by == "eve"


def test_a_fail_sets_it_aside_and_says_so(yard: Yard, gauge: Item):
    answer = send(yard, verdict="fail", note="reads 0.2 bar high")
    item = Item.objects.get()
    assert (item.state, item.state_by) == (State.QUARANTINED, "eve")
    assert "reads 0.2 bar high" in item.state_why
    assert "G-1 is set aside. Tie a defect tag to it." in answer.content.decode()


def test_a_fail_breaks_promises_and_names_them_to_the_examiner(yard: Yard):
    yard.receive("G-1")
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.reserve(job)
    page = send(yard, verdict="fail", note="stuck").content.decode()
    assert Reservation.objects.get().standing == Standing.BROKEN
    assert "G-1 no longer holds for J-1" in page


@pytest.mark.parametrize("verdict", ["fail", "doubt"])
def test_a_fail_or_a_doubt_needs_what_was_found(yard: Yard, gauge: Item, verdict: str):
    page = send(yard, verdict=verdict, note="  ").content.decode()
    assert "Write what was found" in page
    assert not Inspection.objects.exists()


def test_a_doubt_keeps_it_in_the_store_without_setting_it_aside(yard: Yard, gauge: Item):
    send(yard, verdict="doubt", note="glass fogged")
    item = Item.objects.get()
    assert (item.state, item.fit_until) == (State.AVAILABLE, None)


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"done_on": "2999-01-01"}, "in the future"),
        ({"done_on": "31/02/2026"}, "Enter a valid date"),
        ({"done_on": ""}, "This field is required"),
        ({"verdict": ""}, "This field is required"),
        ({"verdict": "splendid"}, "not one of the available choices"),
        ({"check_done": ""}, "This field is required"),
        ({"check_done": "999999"}, "not one of the available choices"),
        ({"check_done": "x"}, "not one of the available choices"),
        ({"certificate": "x" * 121}, "at most 120"),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_stays(yard: Yard, gauge: Item, wrong: dict, why: str):
    page = send(yard, **{"note": "kept in sight", **wrong}).content.decode()
    assert why in page
    assert "kept in sight" in page
    assert not Inspection.objects.exists()


def test_a_check_of_another_kind_or_one_retired_cannot_be_recorded(yard: Yard, gauge: Item):
    other = check("pump", "inspection")
    assert "not one of the available choices" in send(yard, check_done=other.pk).content.decode()
    old = check()
    yard.do(set_checks, Kind.objects.get(name="gauge"), [CheckSpec("zero check", "P1M")])
    assert "not one of the available choices" in send(yard, check_done=old.pk).content.decode()
    assert not Inspection.objects.exists()


def test_a_later_record_of_an_earlier_day_does_not_undo_a_newer_one(yard: Yard, gauge: Item):
    send(yard)
    send(
        yard,
        done_on=(yard.today - timedelta(days=60)).isoformat(),
        verdict="fail",
        note="found in old papers",
    )
    item = Item.objects.get()
    assert item.state == State.AVAILABLE
    assert item.fit_on(yard.today)


def test_the_check_in_the_address_is_chosen_beforehand(yard: Yard):
    yard.do(
        set_checks,
        Kind.objects.get(name="gauge"),
        [CheckSpec("calibration", "P1Y"), CheckSpec("zero check", "P1M")],
    )
    yard.receive("G-1", passed=False)
    client = yard.client("eve")
    chosen = client.get(reverse("record", args=["G-1"]), {"check": "zero check"}).context["form"]
    assert chosen["check_done"].value() == check(name="zero check").pk
    assert (
        client.get(reverse("record", args=["G-1"]), {"check": "no such"})
        .context["form"]["check_done"]
        .value()
        is None
    )


def test_an_item_without_checks_says_so(yard: Yard):
    yard.receive("SEAL-7", kind="seal", quantity=3)
    page = yard.client("eve").get(reverse("record", args=["SEAL-7"])).content.decode()
    assert "no checks in force" in page


def test_nothing_is_offered_for_what_is_withdrawn(yard: Yard, gauge: Item):
    yard.do(withdraw, gauge, "worn out")
    page = yard.client("eve").get(reverse("item", args=["G-1"])).content.decode()
    assert reverse("record", args=["G-1"]) not in page
