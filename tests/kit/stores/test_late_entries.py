"""What is entered late keeps its own day, in the order in which things can have happened."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.actions import Finding, record
from inspections.knew import seen
from inspections.knew_job import job_seen
from inspections.models import Check
from kit.models import Custody, Deed, Item, Job, LedgerEntry, Outcome, Reservation, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    arrive,
    issue_piece,
    let_go,
    prove_ledger,
    quarantine,
    send,
    take_back,
)
from tests.inspections.test_what_was_known import Clock, clock
from tests.kit.views.holm import Yard, make_yard

__all__ = ["clock"]


@pytest.fixture
def week(clock: Clock, db) -> Yard:
    """J-1 wants two gauges and has G-1 and G-2; G-3 is spare. All came in, and five days have passed since."""
    yard = make_yard()
    for n in (1, 2, 3):
        yard.receive(f"G-{n}", serial=str(n))
    yard.reserve(yard.plan("J-1", yard.arrangement(), load_in=1, days=20))
    clock.days_pass(5)
    return yard


def ago(yard: Yard, days: int):
    return yard.today - timedelta(days=days)


def item(tag: str) -> Item:
    return Item.objects.get(tag=tag)


def job() -> Job:
    return Job.objects.get(reference="J-1")


def last(deed: Deed) -> LedgerEntry:
    return LedgerEntry.objects.filter(deed=deed).order_by("-number").first()


def refusal(yard: Yard, action, *args, **more) -> str:
    with pytest.raises(NotAllowed) as said:
        yard.do(action, *args, **more)
    return str(said.value)


def test_a_piece_that_left_earlier_is_entered_with_its_day(week: Yard):
    made = week.do(issue_piece, job(), item("G-1"), ago(week, 3))
    assert made.issued_on == ago(week, 3)
    entry = last(Deed.ISSUED)
    assert timezone.localdate(entry.happened_at) == ago(week, 3)
    assert timezone.localdate(entry.recorded_at) == week.today
    assert prove_ledger().fault is None


def test_on_the_day_itself_it_is_no_late_entry(week: Yard):
    week.do(issue_piece, job(), item("G-1"), week.today)
    entry = last(Deed.ISSUED)
    assert entry.happened_at == entry.recorded_at


def test_what_was_known_and_what_is_known_of_the_day_it_left(week: Yard):
    moment = timezone.now() - timedelta(days=2)
    week.do(issue_piece, job(), item("G-1"), ago(week, 3))
    found = seen([item("G-1")], moment)[item("G-1").pk]
    assert (found.then.item.custody, found.now.item.custody) == (Custody.STORE, Custody.ON_SITE)
    assert (found.differs, [one.how for one in found.learnt]) == (["custody"], ["late entry"])
    of_job = job_seen(job(), moment)
    assert [piece.reservation.standing for piece in of_job.then.pieces] == ["promised", "promised"]
    assert [piece.reservation.standing for piece in of_job.now.pieces] == ["issued", "promised"]


def test_a_piece_that_nobody_had_promised_left_all_the_same(week: Yard):
    moment = timezone.now() - timedelta(days=2)
    week.do(let_go, Reservation.objects.get(item__tag="G-2"), "another goes")
    week.do(issue_piece, job(), item("G-3"), ago(week, 3))
    of_job = job_seen(job(), moment)
    assert {piece.tag: piece.reservation.standing for piece in of_job.then.pieces} == {
        "G-1": "promised",
        "G-2": "promised",
    }
    assert {piece.tag: piece.reservation.standing for piece in of_job.now.pieces} == {
        "G-1": "promised",
        "G-2": "promised",
        "G-3": "issued",
    }
    assert prove_ledger().fault is None


def test_not_in_the_future_nor_before_what_is_known_of_the_item(week: Yard):
    assert "is in the future" in refusal(week, issue_piece, job(), item("G-1"), ago(week, -1))
    week.do(record, Finding(item("G-1"), Check.objects.get(kind=item("G-1").kind), ago(week, 2), "pass"))
    said = refusal(week, issue_piece, job(), item("G-1"), ago(week, 3))
    assert f'"inspection recorded" of it on {ago(week, 2)}' in said
    assert week.do(issue_piece, job(), item("G-1"), ago(week, 2)).issued_on == ago(week, 2)
    assert "cannot have gone out on" in refusal(week, issue_piece, job(), item("G-2"), ago(week, 30))
    assert item("G-2").custody == Custody.STORE


def test_it_comes_back_late_too_though_it_was_tested_since(week: Yard):
    made = week.do(issue_piece, job(), item("G-1"), ago(week, 4))
    week.do(record, Finding(item("G-1"), Check.objects.get(kind=item("G-1").kind), ago(week, 1), "pass"))
    week.do(take_back, made, Outcome.USED, back_on=ago(week, 2))
    assert timezone.localdate(last(Deed.TAKEN_BACK).happened_at) == ago(week, 2)
    moment = timezone.now() - timedelta(days=2) + timedelta(hours=20)
    found = seen([item("G-1")], moment)[item("G-1").pk]
    assert found.now.item.custody == Custody.STORE
    again = week.do(issue_piece, job(), item("G-2"), ago(week, 3))
    week.do(quarantine, item("G-2"), "bent on site")
    assert "cannot have come back" in refusal(week, take_back, again, Outcome.USED, back_on=ago(week, 1))
    assert Reservation.objects.get(pk=again.pk).standing == Standing.ISSUED
    assert prove_ledger().fault is None


def test_a_transfer_is_entered_late_at_both_ends(week: Yard):
    week.do(send, item("G-3"), week.weir, ago(week, 2), ago(week, 3), who="sal")
    assert "cannot have arrived on" in refusal(week, arrive, item("G-3"), ago(week, 4), who="wyn")
    assert "give the day on which" in refusal(week, send, item("G-1"), week.weir, ago(week, 1), who="sal")
    week.do(arrive, item("G-3"), ago(week, 1), who="wyn")
    days = [timezone.localdate(last(deed).happened_at) for deed in (Deed.SENT, Deed.ARRIVED)]
    assert days == [ago(week, 3), ago(week, 1)]
    assert prove_ledger().fault is None


def test_the_counter_takes_a_late_entry_and_the_story_says_so(week: Yard):
    client, htmx = week.client("sal"), week.htmx("sal")
    address = reverse("issue", args=["J-1"])
    assert "This happened earlier" in client.get(address).content.decode()
    page = client.get(address, {"on": ago(week, 3).isoformat()}).content.decode()
    assert "shown as entered late" in page
    assert f'name="issued_on" value="{ago(week, 3).isoformat()}"' in page
    assert "Give a day before today" in client.get(address, {"on": week.today.isoformat()}).content.decode()
    scan = reverse("issue_scan", args=["J-1"])
    said = htmx.post(scan, {"code": "G-1", "issued_on": ago(week, 3).isoformat()}).content.decode()
    assert "Entered late: it left on" in said
    assert "Enter a valid date" in htmx.post(scan, {"code": "G-2", "issued_on": "soon"}).content.decode()
    story = client.get(reverse("item", args=["G-1"])).content.decode()
    assert "entered 3 days later" in story
    assert json.loads(last(Deed.ISSUED).body)["facts"]["line"] == "gauges"


def test_a_record_of_earlier_work_says_how_much_later_it_was_entered(week: Yard):
    with acting(Who("eve", "bench")) as act:
        check = Check.objects.get(kind=item("G-1").kind)
        record(act, Finding(item("G-1"), check, ago(week, 1), "pass"))
    story = week.client("lee").get(reverse("item", args=["G-1"])).content.decode()
    assert "entered 1 day later" in story
    assert f"{ago(week, 1).day} {ago(week, 1):%b %Y}</time>" in story
