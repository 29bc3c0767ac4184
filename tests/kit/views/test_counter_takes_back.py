"""The counter, back: used, unused, damaged or missing; lots by count; over days; each by the right person."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from kit.models import Item, Job, JobState, Reservation, Standing, State
from kit.stores import finish_issue, issue_piece, prove_ledger
from tests.kit.views.holm import Yard


@pytest.fixture
def job(yard: Yard) -> Job:
    """J-1 is out with the gauges G-1 and G-2 and four seals of SEAL-7."""
    yard.receive("G-1")
    yard.receive("G-2")
    yard.receive("SEAL-7", kind="seal", quantity=10)
    job = yard.plan("J-1", yard.arrangement("small", [("gauges", "gauge", 2), ("seals", "seal", 4)]))
    yard.reserve(job)
    for tag in ("G-1", "G-2", "SEAL-7"):
        yard.do(issue_piece, job, Item.objects.get(tag=tag))
    return yard.do(finish_issue, job)


def row(tag: str) -> Reservation:
    return Reservation.objects.get(item__tag=tag)


def press(yard: Yard, tag: str, outcome: str, who: str = "sal", **more: object):
    return yard.client(who).post(
        reverse("take_back_one", args=[row(tag).pk]), {"outcome": outcome, **more}, follow=True
    )


def test_the_job_lists_what_is_out_with_quick_buttons(yard: Yard, job: Job):
    page = yard.client("sal").get(reverse("take_back", args=["J-1"])).content.decode()
    assert "3 still out" in page
    for tag in ("G-1", "G-2", "SEAL-7"):
        assert reverse("take_back_one", args=[row(tag).pk]) in page
        assert reverse("take_back_piece", args=[tag]) in page


def test_a_used_piece_comes_back_by_one_press(yard: Yard, job: Job):
    page = press(yard, "G-1", "used").content.decode()
    assert "G-1 is back, used." in page
    assert "2 still out" in page
    assert row("G-1").outcome == "used"
    assert row("G-1").back_on == yard.today


def test_scanning_on_the_list_leads_to_the_piece_whatever_its_case(yard: Yard, job: Job):
    client = yard.client("sal")
    found = client.get(reverse("take_back", args=["J-1"]), {"code": "g-2"})
    assert found["Location"] == reverse("take_back_piece", args=["G-2"])
    unknown = client.get(reverse("take_back", args=["J-1"]), {"code": "G-99"}, follow=True)
    assert "No item has the tag G-99" in unknown.content.decode()


def test_scanning_what_is_not_out_says_so(yard: Yard, job: Job):
    yard.receive("G-3")
    answer = yard.client("sal").get(reverse("take_back", args=["J-1"]), {"code": "G-3"}, follow=True)
    assert "G-3 is not out on any job. It is: in the store." in answer.content.decode()
    page = yard.client("sal").get(reverse("take_back_piece", args=["G-3"]), follow=True)
    assert page.redirect_chain[-1][0] == reverse("item", args=["G-3"])
    assert yard.client("sal").get(reverse("take_back_piece", args=["G-99"])).status_code == 404


def test_the_piece_page_names_the_job_and_has_four_buttons(yard: Yard, job: Job):
    page = yard.client("sal").get(reverse("take_back_piece", args=["G-1"])).content.decode()
    assert "Out on J-1" in page
    for outcome in ("used", "unused", "damaged", "missing"):
        assert f'name="outcome" value="{outcome}"' in page


@pytest.mark.parametrize("outcome", ["damaged", "missing"])
def test_damaged_and_missing_need_a_word(yard: Yard, job: Job, outcome: str):
    refused = press(yard, "G-1", outcome).content.decode()
    assert "say what was found or where it was seen last" in refused
    assert row("G-1").standing == Standing.ISSUED


def test_a_damaged_piece_is_set_aside(yard: Yard, job: Job):
    page = press(yard, "G-1", "damaged", why="glass cracked").content.decode()
    assert "Tie a defect tag to it" in page
    item = Item.objects.get(tag="G-1")
    assert item.state == State.QUARANTINED
    assert "glass cracked" in item.state_why
    assert item.state_by == "sal"


def test_a_missing_piece_is_noted_as_lost(yard: Yard, job: Job):
    press(yard, "G-1", "missing", why="not in the van")
    assert Item.objects.get(tag="G-1").state == State.LOST


def test_what_was_typed_stays_when_a_day_is_refused(yard: Yard, job: Job):
    tomorrow = yard.today + timedelta(days=1)
    answer = press(yard, "G-1", "damaged", why="glass cracked", back_on=tomorrow.isoformat())
    page = answer.content.decode()
    assert "is in the future" in page
    assert "glass cracked" in page
    assert tomorrow.isoformat() in page
    assert "notice--refused" in press(yard, "G-1", "used", back_on="31/02/2026").content.decode()
    assert row("G-1").standing == Standing.ISSUED


@pytest.mark.parametrize("outcome", ["", "eaten", "\x00"])
def test_an_outcome_that_is_none_of_the_four_is_refused(yard: Yard, job: Job, outcome: str):
    assert "notice--refused" in press(yard, "G-1", outcome).content.decode()
    assert row("G-1").standing == Standing.ISSUED


def test_of_a_lot_the_rest_counts_as_used(yard: Yard, job: Job):
    page = yard.client("sal").get(reverse("take_back_piece", args=["SEAL-7"])).content.decode()
    assert "How many came back" in page
    assert "between 0 and 4" in press(yard, "SEAL-7", "used", quantity="5").content.decode()
    press(yard, "SEAL-7", "used", quantity="1")
    assert Item.objects.get(tag="SEAL-7").quantity == 7
    assert row("SEAL-7").back_quantity == 1


def test_a_piece_comes_back_once_though_pressed_twice(yard: Yard, job: Job):
    press(yard, "G-1", "unused")
    again = press(yard, "G-1", "used").content.decode()
    assert "G-1 is not out on J-1" in again
    assert row("G-1").outcome == "unused"


def test_the_job_closes_with_the_last_piece_over_days(yard: Yard, job: Job):
    press(yard, "G-1", "used")
    press(yard, "G-2", "unused")
    job.refresh_from_db()
    assert job.state == JobState.OUT
    page = press(yard, "SEAL-7", "unused").content.decode()
    assert "The job is closed" in page
    assert "Nothing of this job is out." in page
    job.refresh_from_db()
    assert job.state == JobState.CLOSED
    assert prove_ledger().fault is None


def test_only_the_stores_of_the_jobs_depot_take_back(yard: Yard, job: Job):
    for name in ("cal", "pat", "eve", "lee"):
        assert press(yard, "G-1", "used", who=name).status_code == 403
        assert yard.client(name).get(reverse("take_back", args=["J-1"])).status_code == 403
    assert press(yard, "G-1", "used", who="wyn").status_code == 404
    assert yard.client("wyn").get(reverse("take_back_piece", args=["G-1"])).status_code == 404
    assert yard.client("sal").get(reverse("take_back_one", args=[row("G-1").pk])).status_code == 405
    assert row("G-1").standing == Standing.ISSUED
