"""How far the pieces of a job reach: extended to that day nothing breaks, and a day further something does."""

from __future__ import annotations

from datetime import date, timedelta
from xml.etree.ElementTree import fromstring

import pytest
from django.urls import reverse

from kit.models import Job, Reservation, Role, Standing
from kit.planning.reach import Reach
from kit.reach_picture import picture_of_reach
from kit.stores import acting, change_job, plan_job, reserve, set_kind
from kit.stores.act import Act
from kit.stores.reach import reach_of_job
from tests.kit.views.yard import STORES, Yard, in_days, job_of, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    made = yard(bags=4)
    with acting(STORES) as act:
        reserve(act, made.job)
    return made


def breaks_if_back(job: Job, day) -> bool:
    """Whether any promise at all breaks once the job is really extended to that day; taken back afterwards."""

    class Back(Exception):
        pass

    broke = None
    try:
        with acting(STORES) as act:
            change_job(act, Job.objects.get(pk=job.pk), return_on=day)
            broke = Reservation.objects.filter(standing=Standing.BROKEN).exists()
            raise Back
    except Back:
        pass
    assert broke is not None
    return broke


@pytest.mark.parametrize("case", ["dates", "margin", "next job", "next job with turn-round"])
def test_the_job_may_be_extended_just_so_far(place: Yard, case: str):
    with acting(STORES) as act:
        _set_up(act, place, case)
    first = reach_of_job(Job.objects.get(pk=place.job.pk))[0]
    assert bool(first.by_job) == case.startswith("next job")
    assert first.until > place.job.return_on
    assert not breaks_if_back(place.job, first.until)
    assert breaks_if_back(place.job, first.until + timedelta(days=1))


def _set_up(act: Act, place: Yard, case: str) -> None:
    if case == "margin":
        set_kind(act, "bag", margin_days=4)
    if case == "next job with turn-round":
        set_kind(act, "bag", turn_round_days=3)
    if case.startswith("next job"):
        reserve(act, plan_job(act, job_of(place.north, place.arrangement, "J-later", 30, 33)))


def test_the_page_says_so(place: Yard):
    page = seat(Role.PLANNER, place.north).get(reverse("job", args=[place.job.reference]))
    first = reach_of_job(place.job)[0]
    assert f"{first.tag} gives out first." in page.context["reach"]["words"]
    assert "How far its pieces reach" in page.content.decode()


def test_a_job_that_holds_nothing_shows_none(place: Yard):
    with acting(STORES) as act:
        bare = plan_job(act, job_of(place.north, place.arrangement, "J-bare", 60, 63))
    page = seat(Role.PLANNER, place.north).get(reverse("job", args=[bare.reference]))
    assert page.context["reach"] is None
    assert in_days(60) == bare.load_on


def test_each_bar_ends_where_its_piece_gives_out_and_the_line_at_the_return():
    load, back = date(2027, 3, 1), date(2027, 3, 10)
    reaches = [
        Reach("A <1>", "bags", None),
        Reach("A2", "bags", date(2027, 3, 5)),
        Reach("A3", "bags", back),
        Reach("A4", "heads", date(2027, 3, 20)),
    ]
    drawing = fromstring(picture_of_reach(reaches, load, back, "in words"))
    whole = [float(box.get("width")) for box in drawing.iter("rect") if not box.get("class")]
    used = [float(box.get("width")) for box in drawing.iter("rect") if box.get("class") == "picture__used"]
    most = max(whole)
    # Both ends of a window belong to it: 5, 10 and 20 of 20 days.
    assert [width / most for width in whole] == pytest.approx([1, 5 / 20, 10 / 20, 1], abs=0.002)
    assert [width / most for width in used] == pytest.approx([5 / 20, 10 / 20, 10 / 20], abs=0.002)
    returned = [float(each.get("x1")) for each in drawing.iter("line") if each.get("stroke-dasharray")]
    assert [(x - 4) / most for x in returned] == pytest.approx([10 / 20] * 4, abs=0.002)
    said = [element.text for element in drawing.iter() if element.text]
    assert {"A <1>, bags", "in words", "return on 10 Mar 2027", "20 Mar 2027"} <= set(said)
    assert picture_of_reach([], load, back, "") == ""


def test_a_long_list_is_shown_in_part_and_in_full_on_demand(place: Yard):
    client = seat(Role.PLANNER, place.north)
    address = reverse("job", args=[place.job.reference])
    shown = client.get(address).context["reach"]
    assert shown["more"] > 0
    assert f"{shown['more']} more hold" in client.get(address).content.decode()
    every = client.get(address, {"reach": "all"}).context["reach"]
    assert len(every["rows"]) == len(shown["rows"]) + shown["more"]
    assert every["more"] == 0
