"""The readiness screen: the count drawn and in a table, what would give more, and the spreadsheet."""

from __future__ import annotations

import io
from datetime import date
from xml.etree import ElementTree

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from kit.models import Item, LedgerEntry, Role
from kit.pictures import in_words, picture_of_stops
from kit.planning.readiness import Day
from tests.kit.views.yard import Yard, in_days, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


def question(place: Yard, **other: object) -> dict[str, object]:
    return {
        "arrangement": place.arrangement.pk,
        "bore_mm": "160",
        "depot": "NY",
        "first": in_days(0).isoformat(),
        "days": "10",
        **other,
    }


def test_it_opens_with_the_main_of_the_next_job(place):
    answer = seat(Role.PLANNER, place.north).get(reverse("readiness"))
    assert answer.status_code == 200
    assert [run.stops for run in answer.context["runs"]] == [1]
    assert answer.context["arrangement"] == place.arrangement


def test_a_question_is_answered_in_figures_a_picture_and_words(place):
    answer = seat(Role.PLANNER, place.north).get(reverse("readiness"), question(place))
    [run] = answer.context["runs"]
    assert (run.first, run.last, run.stops, run.days) == (in_days(0), in_days(9), 1, 10)
    assert "On every day 1 stop." in answer.content.decode()
    assert answer.content.decode().count('<svg class="picture__drawing"') == 1
    # Five bags are one stop's four, two bases of M3 one stop's two: more of either alone help nothing.
    assert run.limited_by == ("bag", "base")
    assert "several limit it together" in answer.content.decode()


def test_an_overdue_bag_is_named_as_an_inspection_worth_doing(place):
    Item.objects.filter(tag__in=["NY-B1", "NY-B2"]).update(fit_until=in_days(-1))
    answer = seat(Role.PLANNER, place.north).get(reverse("readiness"), question(place))
    [found] = answer.context["in_time"]
    assert found["tags"] == ("NY-B1", "NY-B2")
    assert "overdue since" in answer.content.decode()


def test_looking_writes_nothing(place):
    planner = seat(Role.PLANNER, place.north)
    entries = LedgerEntry.objects.count()
    planner.get(reverse("readiness"), question(place))
    assert LedgerEntry.objects.count() == entries


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"bore_mm": ""}, "Enter the bore, or choose a job"),
        ({"bore_mm": "-3"}, "greater than or equal"),
        ({"days": "400"}, "less than or equal to 366"),
        ({"first": "1066-10-14"}, "Give a day from 1900"),
        ({"depot": "XX"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_counted_is_said_at_its_field(place, wrong, sentence):
    answer = seat(Role.PLANNER, place.north).get(reverse("readiness"), question(place, **wrong))
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert "runs" not in answer.context


def test_the_spreadsheet_has_a_row_a_day(place):
    answer = seat(Role.PLANNER, place.north).get(reverse("readiness_workbook"), question(place))
    book = load_workbook(io.BytesIO(answer.content))
    rows = list(book["Readiness"].iter_rows(values_only=True))
    assert rows[0] == ("date", "stops", "at most", "limited by")
    assert len(rows) == 11
    assert rows[1][0].date() == in_days(0)
    assert rows[1][1:3] == (1, 1)


def test_the_crew_may_look_and_not_export(place):
    crew = seat(Role.CREW, place.north)
    assert crew.get(reverse("readiness"), question(place)).status_code == 200
    assert crew.get(reverse("readiness_workbook"), question(place)).status_code == 403


def test_the_picture_crosses_days_without_a_stop_and_says_so():
    days = [Day(date(2026, 11, number), stops, ("<bag>",)) for number, stops in ((2, 2), (3, 0), (4, 1))]
    picture = ElementTree.fromstring(picture_of_stops(days))
    assert "No stop at all on 1 day." in list(in_words(days))
    stairs = next(line for line in picture.iter() if line.tag == "polyline")
    heights = [float(pair.split(",")[1]) for pair in stairs.attrib["points"].split()]
    assert heights == [24, 24, 166, 166, 95, 95]
    assert picture_of_stops([]) == ""
