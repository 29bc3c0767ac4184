"""The hold test bench: scan, start, wait, end; what is refused keeps the clock running."""

from __future__ import annotations

import json

import pytest
from django.urls import reverse

from inspections.models import HoldRun, Inspection
from kit.models import Deed, Item, LedgerEntry, State
from kit.stores import prove_ledger
from tests.inspections.views.hold_kit import HOLD, bag, gauge, hold_check, pass_time
from tests.kit.views.holm import Yard

BENCH = "hold_bench"


@pytest.fixture
def kit(yard: Yard) -> Yard:
    gauge(yard)
    for tag in ("B-1", "B-2"):
        bag(yard, tag)
    return yard


def start(yard: Yard, tag: str = "B-1", who: str = "eve", **sent: object):
    values = {"start_pressure": "0.2", "check": HOLD, **sent}
    return yard.client(who).post(reverse("hold_start", args=[tag]), values, follow=True)


def end(yard: Yard, pressure: str, tag: str = "B-1", who: str = "eve", **sent: object):
    run = HoldRun.objects.get(item__tag=tag)
    values = {"end_pressure": pressure, **sent}
    return yard.client(who).post(reverse("hold_end", args=[run.pk]), values, follow=True)


def test_a_scanned_bag_is_offered_with_the_usual_pressure_and_the_only_gauge(kit: Yard):
    page = kit.client("eve").get(reverse(BENCH), {"code": "B-1"})
    assert page.context["start_form"]["start_pressure"].value() == "0.2"
    assert page.context["gauge"].tag == "G-1"
    assert page.context["unit"] == "bar"


@pytest.mark.parametrize(
    ("pressure", "verdict", "state"),
    [
        ("0.195", "pass", State.AVAILABLE),
        ("0,19", "pass", State.AVAILABLE),
        (".18", "fail", State.QUARANTINED),
    ],
)
def test_the_end_pressure_gives_the_verdict_in_large_type(kit: Yard, pressure: str, verdict: str, state: str):
    start(kit)
    pass_time("B-1")
    page = end(kit, pressure).content.decode()
    made = Inspection.objects.get(item__tag="B-1")
    assert (made.verdict, made.gauge.tag, made.by) == (verdict, "G-1", "eve")
    assert (
        made.readings["test"]["start_pressure"] == "0.200000"
        or made.readings["test"]["start_pressure"] == "0.2"
    )
    assert made.done_at is not None
    assert made.why in page.replace("&#x27;", "'")
    assert f"verdict--{verdict}" in page
    assert ("Tie a defect tag to it" in page) == (verdict == "fail")
    assert Item.objects.get(tag="B-1").state == state
    assert not HoldRun.objects.exists()
    assert prove_ledger().fault is None


def test_ending_too_early_is_no_evidence_and_says_how_long_to_wait(kit: Yard):
    start(kit)
    pass_time("B-1", 3.2)
    page = end(kit, "0.2").content.decode()
    assert "Wait another 1 min 4" in page
    assert HoldRun.objects.count() == 1
    assert not Inspection.objects.filter(item__tag="B-1").exists()


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ({"start_pressure": "0.25"}, "is more than 0.2 bar as printed"),
        ({"start_pressure": "2,000"}, "can be read as 2.000 or as 2000"),
        ({"start_pressure": "full"}, "is not a number"),
        ({"start_pressure": ""}, "This field is required"),
        ({"start_pressure": "-0.1"}, "is below zero"),
        ({"start_c": "200"}, "slip of the key"),
    ],
)
def test_what_would_be_no_evidence_does_not_start_the_clock(kit: Yard, sent: dict, why: str):
    page = start(kit, **sent).content.decode()
    assert why in page
    assert not HoldRun.objects.exists()


def test_an_end_that_is_refused_keeps_the_clock(kit: Yard):
    start(kit, start_c="18")
    pass_time("B-1")
    page = end(kit, "0.2").content.decode()
    assert "write both temperatures, or neither" in page
    assert HoldRun.objects.exists()
    end(kit, "0.2", end_c="19")
    assert Inspection.objects.get(item__tag="B-1").readings["test"]["end_c"] == "19.0"


def test_a_bag_scanned_into_a_pressure_is_a_scan(kit: Yard):
    bag(kit, "12")
    page = start(kit, start_pressure="B-2")
    assert page.context["bag"].tag == "B-2"
    start(kit)
    pass_time("B-1")
    assert end(kit, "12").context["bag"].tag == "12"
    assert not Inspection.objects.filter(item__tag="B-1").exists()


def test_the_start_pressure_typed_last_is_offered_next(kit: Yard):
    client = kit.client("eve")
    client.post(reverse("hold_start", args=["B-1"]), {"start_pressure": "0.18", "check": HOLD})
    page = client.get(reverse(BENCH), {"code": "B-2"})
    assert page.context["start_form"]["start_pressure"].value() == "0.18"


def test_of_several_gauges_one_is_chosen_by_scan_and_remembered(kit: Yard):
    gauge(kit, "G-2")
    client = kit.client("eve")
    assert "Choose the gauge below" in client.get(reverse(BENCH), {"code": "B-1"}).content.decode()
    client.get(reverse(BENCH), {"code": "G-2"})
    assert client.get(reverse(BENCH), {"code": "B-1"}).context["gauge"].tag == "G-2"
    chosen = {"gauge": Item.objects.get(tag="G-1").pk, "unit": "psi", "code": "B-1"}
    page = client.post(reverse("hold_setting"), chosen, follow=True)
    assert page.context["gauge"].tag == "G-1"
    assert page.context["start_form"]["start_pressure"].value() == "3"


def test_a_gauge_out_of_calibration_is_refused_before_the_clock_starts(kit: Yard):
    kit.inspect(Item.objects.get(tag="G-1"), "calibration", "fail", days_ago=0, by="max")
    gauge(kit, "G-2")
    kit.inspect(Item.objects.get(tag="G-2"), "calibration", "doubt", days_ago=0, by="max")
    page = start(kit).content.decode()
    assert "out of calibration" in page
    assert not HoldRun.objects.exists()


def test_five_at_a_time_and_each_bag_once(kit: Yard):
    assert "runs already" in (start(kit), start(kit))[1].content.decode()
    for n in range(3, 8):
        bag(kit, f"B-{n}")
        page = start(kit, f"B-{n}").content.decode()
    assert HoldRun.objects.count() == 5
    assert "5 of your hold tests are running" in page


def test_another_device_sees_the_clock_and_another_examiner_is_named(kit: Yard):
    start(kit)
    pass_time("B-1")
    assert [slot["run"].item.tag for slot in kit.client("max").get(reverse(BENCH)).context["slots"]] == [
        "B-1"
    ]
    end(kit, "0.2", who="max")
    made = Inspection.objects.get(item__tag="B-1")
    assert (made.recorded_by, made.note) == ("max", "started by eve")


def test_breaking_off_needs_a_reason_and_the_ledger_keeps_it(kit: Yard):
    start(kit)
    run = HoldRun.objects.get()
    client = kit.client("eve")
    client.post(reverse("hold_break_off", args=[run.pk]), {"why": "  "})
    assert HoldRun.objects.exists()
    client.post(reverse("hold_break_off", args=[run.pk]), {"why": "hose slipped off"})
    assert not HoldRun.objects.exists()
    entry = LedgerEntry.objects.get(deed=Deed.BROKEN_OFF)
    assert "hose slipped off" in json.loads(entry.body)["note"]
    assert not Inspection.objects.filter(item__tag="B-1").exists()
    assert prove_ledger().fault is None


def test_what_is_not_for_this_bench_says_so(kit: Yard):
    kit.receive("BASE-1", kind="base", mark="M3")
    assert (
        "No hold test is asked of BASE-1"
        in kit.client("eve").get(reverse(BENCH), {"code": "BASE-1"}).content.decode()
    )
    assert (
        "No item has the tag NIX" in kit.client("eve").get(reverse(BENCH), {"code": "NIX"}).content.decode()
    )
    assert kit.client("sal").get(reverse(BENCH)).status_code == 403


def test_an_ended_run_sent_again_is_no_second_record(kit: Yard):
    start(kit)
    pass_time("B-1")
    run = HoldRun.objects.get()
    client = kit.client("eve")
    address = reverse("hold_end", args=[run.pk])
    client.post(address, {"end_pressure": "0.2"})
    page = client.post(address, {"end_pressure": "0.2"}, follow=True).content.decode()
    assert "ended already" in page
    assert Inspection.objects.filter(item__tag="B-1").count() == 1


def test_a_test_made_elsewhere_is_entered_whole(kit: Yard):
    values = {
        "start_pressure": "3",
        "end_pressure": "2.95",
        "unit": "psi",
        "minutes": "5",
        "gauge": Item.objects.get(tag="G-1").pk,
        "done_on": kit.today.isoformat(),
    }
    address = reverse("hold_elsewhere", args=["B-1"])
    client = kit.client("eve")
    page = client.post(address, {**values, "minutes": "4"}).content.decode()
    assert "Held 4 minutes, but this check asks for 5" in page
    page = client.post(address, values, follow=True).content.decode()
    made = Inspection.objects.get(item__tag="B-1")
    assert (made.verdict, made.check_done) == ("pass", hold_check())
    assert made.why in page
    assert prove_ledger().fault is None
