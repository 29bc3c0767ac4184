"""The due list on the screen: narrowed, for any day, chosen from, and written out exactly as shown."""

from __future__ import annotations

import io
from datetime import timedelta

import openpyxl
import pytest
from django.urls import reverse

from inspections.due_list import due_list
from kit.forms.week import week_of
from kit.models import Role
from kit.stores import acting, quarantine, receive, reserve
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, bag, in_days, record_checks, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    """The yard, and in it: NEW-1 never tested, OLD-1 overdue and set aside, MB-1 at the other depot never tested."""
    place = yard()
    with acting(STORES) as act:
        receive(act, [bag(place.north, "NEW-1"), bag(place.mill, "MB-1")])
        [old] = receive(act, [bag(place.north, "OLD-1", use_by=in_days(-3))])
        record_checks(act, [old], days_ago=400)
        quarantine(act, old, "very old")
        reserve(act, place.job)
    return place


def shown(answer) -> list[tuple[str, str]]:
    return [(row.record.tag, row.record.check) for row in answer.context["table"].rows]


def entries(content: bytes) -> list[tuple[str, str]]:
    """(tag, check) of each row of the table's sheet."""
    sheet = openpyxl.load_workbook(io.BytesIO(content)).worksheets[1]
    return [(row[0].value, row[2].value) for row in sheet.iter_rows(min_row=2)]


def facts(content: bytes) -> dict[str, object]:
    sheet = openpyxl.load_workbook(io.BytesIO(content)).worksheets[0]
    return {row[0].value: row[1].value for row in sheet.iter_rows(min_row=2, max_col=2) if row[0].value}


NEVER, OLD_TEST, OLD_USE_BY = ("NEW-1", "hold test"), ("OLD-1", "hold test"), ("OLD-1", "use-by")


def test_it_opens_with_what_is_overdue_or_never_done_at_the_desks_depot(place):
    answer = seat(Role.CREW, place.north).get(reverse("due"))
    assert shown(answer) == [NEVER, OLD_TEST, OLD_USE_BY]
    text = answer.content.decode()
    assert "never done" in text
    assert "by 3 days" in text


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ({"stands": "never"}, [NEVER]),
        ({"stands": "overdue"}, [OLD_TEST, OLD_USE_BY]),
        ({"check": "use-by"}, [OLD_USE_BY]),
        ({"kind": "bag", "check": "hold test"}, [NEVER, OLD_TEST]),
        ({"kind": "base"}, []),
        ({"q": "new"}, [NEVER]),
        ({"state": "quarantined"}, [OLD_TEST, OLD_USE_BY]),
        ({"custody": "on-site"}, []),
        ({"promised": "on"}, []),
        ({"within": "9", "check": "use-by"}, [OLD_USE_BY, ("NY-B9", "use-by")]),
        ({"within": "8", "check": "use-by"}, [OLD_USE_BY]),
    ],
)
def test_each_filter_narrows_it_and_the_spreadsheet_holds_the_very_same(place, asked, expected):
    client = seat(Role.COMPLIANCE, place.north)
    assert shown(client.get(reverse("due"), asked)) == expected
    answer = client.get(reverse("due_workbook"), asked)
    assert answer["Content-Disposition"].startswith("attachment; ")
    assert entries(answer.content) == expected


def test_what_is_promised_is_found_by_its_job(place):
    client = seat(Role.COMPLIANCE, place.north)
    answer = client.get(reverse("due"), {"within": "400", "promised": "on", "kind": "base"})
    assert shown(answer) == [("NY-S1", "inspection"), ("NY-S2", "inspection")]
    assert reverse("job", args=["J/26-104"]) in answer.content.decode()


def test_other_depots_are_seen_by_those_who_work_there_only(place):
    assert ("MB-1", "hold test") not in shown(
        seat(Role.COMPLIANCE, place.north).get(reverse("due"), {"depot": ""})
    )
    both = seat(Role.COMPLIANCE, place.north, place.mill, name="both")
    assert ("MB-1", "hold test") in shown(both.get(reverse("due"), {"depot": ""}))
    assert shown(both.get(reverse("due"), {"depot": "MB"})) == [("MB-1", "hold test")]
    answer = seat(Role.COMPLIANCE, place.north).get(reverse("due"), {"depot": "MB"})
    assert "MB-1" not in answer.content.decode()
    assert "depot" in answer.context["form"].errors


def test_as_of_a_past_day_looks_at_no_later_record(place):
    day = in_days(-20)
    client = seat(Role.COMPLIANCE, place.north)
    answer = client.get(reverse("due"), {"as_of": day.isoformat(), "depot": "NY"})
    expected = [(entry.tag, entry.check) for entry in due_list(day, depots=[place.north.pk])]
    assert shown(answer) == expected
    assert ("NY-B1", "hold test") in expected
    assert "records of later work are not looked at" in answer.content.decode()
    content = client.get(reverse("due_workbook"), {"as_of": day.isoformat()}).content
    assert entries(content) == expected
    assert facts(content)["as of"].date() == day


def test_only_the_chosen_are_written_out(place):
    client = seat(Role.EXAMINER, place.north)
    page = client.get(reverse("due"))
    ticks = [row.record.pk for row in page.context["table"].rows if row.record.tag == "OLD-1"]
    answer = client.post(reverse("due"), {"do": "export", "chosen": ticks})
    assert entries(answer.content) == [OLD_TEST, OLD_USE_BY]
    told = facts(answer.content)
    assert told["chosen"] == "2 of 3, chosen by hand"
    assert told["drawn up by"] == "the.examiner"


def test_a_choice_is_of_the_list_in_the_address(place):
    client = seat(Role.EXAMINER, place.north)
    ticks = [row.record.pk for row in client.get(reverse("due")).context["table"].rows]
    answer = client.post(f"{reverse('due')}?stands=never", {"do": "export", "chosen": ticks})
    assert entries(answer.content) == [NEVER]


def test_nothing_chosen_is_said(place):
    client = seat(Role.EXAMINER, place.north)
    answer = client.post(f"{reverse('due')}?kind=bag", {"do": "export"}, follow=True)
    assert "tick the rows first" in answer.content.decode()
    assert answer.request["QUERY_STRING"] == "kind=bag"


def test_the_query_is_written_into_the_workbook(place):
    content = (
        seat(Role.PLANNER, place.north)
        .get(reverse("due_workbook"), {"kind": "bag", "within": "30", "depot": "NY"})
        .content
    )
    told = facts(content)
    assert told["depot"] == "NY"
    assert "Kind: bag" in told["asked for"]
    assert "Falls due within, days: 30" in told["asked for"]


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_a_crew_sees_the_list_and_writes_no_spreadsheet(place, role):
    client = seat(role, place.north)
    page = client.get(reverse("due"))
    assert page.status_code == 200
    may = role != Role.CREW
    assert ("Spreadsheet of" in page.content.decode()) == may
    assert client.get(reverse("due_workbook")).status_code == (200 if may else 403)
    ticks = [row.record.pk for row in page.context["table"].rows]
    assert client.post(reverse("due"), {"chosen": ticks}).status_code == (200 if may else 403)


@pytest.mark.parametrize(
    "column", ["tag", "stands", "-stands", "due_on", "-due_on", "last_done", "state", "job", "-job"]
)
def test_every_column_sorts_what_has_no_date_as_well(place, column):
    answer = seat(Role.CREW, place.north).get(reverse("due"), {"within": "400", "sort": column})
    rows = shown(answer)
    assert len(rows) == len(set(rows)) > 8
    if column == "due_on":
        assert rows[0] == NEVER
    if column == "-stands":
        assert rows[-1] == NEVER


@pytest.mark.parametrize(
    "odd", [{"within": "-1"}, {"within": "x"}, {"as_of": "31.02.2027"}, {"kind": "no such"}]
)
def test_what_cannot_be_asked_is_said_in_the_form(place, odd):
    answer = seat(Role.CREW, place.north).get(reverse("due"), odd)
    assert answer.status_code == 200
    assert answer.context["form"].errors
    assert "field--wrong" in answer.content.decode()


@pytest.mark.parametrize("days", [0, 9, 400])
def test_a_week_holds_what_falls_due_from_its_monday_to_its_sunday(place, days):
    monday = in_days(days) - timedelta(days=in_days(days).weekday())
    with acting(STORES) as act:
        for number in (-1, 0, 6, 7):
            receive(act, [bag(place.north, f"WK{number}", use_by=monday + timedelta(days=number))])
    asked = {"week": week_of(in_days(days)), "check": "use-by"}
    answer = seat(Role.CREW, place.north).get(reverse("due"), asked)
    assert {"WK0", "WK6"} <= {tag for tag, _check in shown(answer)}
    assert not {"WK-1", "WK7"} & {tag for tag, _check in shown(answer)}
    assert all(
        monday <= row.record.due_on <= monday + timedelta(days=6) for row in answer.context["table"].rows
    )


@pytest.mark.parametrize("week", ["2026-W54", "2026-W1", "next", "9999-W52", "2026-W00", "2026W481"])
def test_what_is_no_week_is_said_and_narrows_nothing(place, week):
    answer = seat(Role.CREW, place.north).get(reverse("due"), {"week": week})
    assert answer.status_code == 200
    assert answer.context["form"].errors["week"]
    assert shown(answer) == [NEVER, OLD_TEST, OLD_USE_BY]
