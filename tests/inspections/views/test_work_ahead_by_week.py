"""Work ahead: each week's figure is as long as the due list that it links to, and nothing is counted twice."""

from __future__ import annotations

import itertools
from datetime import date, timedelta
from xml.etree.ElementTree import fromstring

import pytest
from django.urls import reverse

from inspections.due_list import due_list
from inspections.due_load import WEEKS_AHEAD, due_load
from kit.models import Item, Role
from kit.stores import acting, receive, reserve
from tests.kit.views.yard import STORES, Yard, bag, in_days, record_checks, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    """The yard with bags whose use-by dates lie round the edges of the weeks, and one overdue."""
    place = yard()
    monday = place.today - timedelta(days=place.today.weekday())
    edges = [0, 6, 7, 13, 14, 7 * WEEKS_AHEAD - 1, 7 * WEEKS_AHEAD]
    with acting(STORES) as act:
        made = receive(
            act, [bag(place.north, f"E{n}", use_by=monday + timedelta(days=n)) for n in (*edges, -1)]
        )
        record_checks(act, made, days_ago=0)
        receive(act, [bag(place.mill, "MB-1", use_by=in_days(20))])
        reserve(act, place.job)
    return place


def test_the_weeks_and_what_waits_are_the_whole_due_list_to_their_end(place: Yard):
    load = due_load(place.today, [place.north.pk])
    first, last = load.weeks[0].first, load.weeks[-1].last
    assert (first, last.weekday(), len(load.weeks)) == (place.today, 6, WEEKS_AHEAD)
    whole = due_list(place.today, (last - place.today).days, [place.north.pk])
    assert load.waiting + load.ahead == len(whole)
    assert load.waiting_promised + sum(week.promised for week in load.weeks) == sum(
        entry.job is not None for entry in whole
    )
    for week in load.weeks:
        assert week.number == sum(
            entry.due_on is not None and week.first <= entry.due_on <= week.last for entry in whole
        )


def test_weeks_run_from_monday_to_sunday_and_leave_no_day_out(place: Yard):
    weeks = due_load(place.today, [place.north.pk]).weeks
    for earlier, later in itertools.pairwise(weeks):
        assert later.first == earlier.last + timedelta(days=1)
        assert later.first.weekday() == 0


@pytest.mark.parametrize("asked", [{}, {"kind": "bag"}, {"kind": "base"}, {"check": "use-by"}, {"depot": ""}])
def test_each_figure_is_as_long_as_the_list_it_links_to(place: Yard, asked: dict[str, str]):
    client = seat(Role.PLANNER, place.north)
    page = client.get(reverse("due_weeks"), asked)
    assert page.status_code == 200
    for week, url, promised_url in page.context["weeks"]:
        assert len(client.get(url).context["table"].rows) == week.number, week.week
        assert len(client.get(promised_url).context["table"].rows) == week.promised, week.week
    waiting = client.get(page.context["waiting_url"]).context["table"].rows
    assert len(waiting) == page.context["load"].waiting


def test_other_peoples_depots_are_not_counted(place: Yard):
    def number(*depots) -> int:
        answer = seat(Role.PLANNER, *depots).get(reverse("due_weeks"), {"depot": "", "check": "use-by"})
        return answer.context["load"].ahead

    alone = number(place.north)
    assert number(place.north, place.mill) == alone + 1


def test_the_bars_are_as_high_as_the_figures(place: Yard):
    page = seat(Role.PLANNER, place.north).get(reverse("due_weeks"))
    load = page.context["load"]
    drawing = fromstring(page.context["picture"])
    below = 166.0
    boxes = [box for box in drawing.iter("rect") if float(box.get("y")) + float(box.get("height")) == below]
    hollow = [float(box.get("height")) for box in boxes if box.get("fill") == "none"]
    filled = [float(box.get("height")) for box in boxes if box.get("fill") != "none"]
    numbers = [week.number for week in load.weeks if week.number]
    assert [height / max(hollow) for height in hollow] == pytest.approx(
        [n / max(numbers) for n in numbers], abs=0.01
    )
    promised = [week.promised for week in load.weeks if week.promised]
    assert promised, "nothing tells the filled bars"
    assert [height / max(hollow) for height in filled] == pytest.approx(
        [n / max(numbers) for n in promised], abs=0.01
    )


def test_nothing_due_is_said(db):
    assert due_load(date(2026, 11, 2), []).ahead == 0


@pytest.mark.parametrize("check", ["", "use-by", "hold test"])
def test_what_the_database_counts_is_what_the_due_list_says_while_a_rule_waits(
    place: Yard, check, monkeypatch
):
    def load(items=None):
        return due_load(place.today, [place.north.pk, place.mill.pk], items, check)

    counted = [load(), load(Item.objects.filter(kind__name="base"))]
    monkeypatch.setattr("inspections.due_load.stored_dates_hold", lambda _day: False)
    assert [load(), load(Item.objects.filter(kind__name="base"))] == counted
    assert counted[0].ahead + counted[0].waiting
