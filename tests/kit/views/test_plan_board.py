"""The plan board: every job of the days shown, how it stands, what gives when it moves, who may move it."""

from __future__ import annotations

import re
from datetime import timedelta
from urllib.parse import quote

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from kit.models import Job, JobState, LedgerEntry, Reservation, Role, Standing
from kit.stores import (
    acting,
    change_job,
    finish_issue,
    issue_piece,
    lose,
    plan_job,
    quarantine,
    reserve,
    set_kind,
)
from kit.stores.plan_board import board_of, monday_of
from kit.views.plan_cells import day_entries, groups_of, rows_of
from tests.kit.views.yard import STORES, Yard, in_days, job_of, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    """The yard with its job reserved, one that finds too little beside it, one out and late, one a year off."""
    made = yard(bags=5)
    with acting(STORES) as act:
        reserve(act, made.job)
        for reference, load, back, crew in (
            ("J-2", 8, 10, "Crew Breck"),
            ("J-late", -6, -2, ""),
            ("J-far", 300, 301, ""),
        ):
            job = job_of(made.north, made.arrangement, reference, load, back)
            job.crew = crew
            plan_job(act, job)
        reserve(act, Job.objects.get(reference="J-2"))
    return made


def on_board(place: Yard, weeks: int = 4, crew: str | None = None):
    return board_of(place.north, monday_of(place.today) - timedelta(days=7), weeks, place.today, crew)


def stands(place: Yard) -> dict[str, str]:
    return {bar.job.reference: bar.how for bar in on_board(place).bars}


def issue(job: Job) -> None:
    with acting(STORES) as act:
        for row in job.reservations.filter(standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, job, row.item)
        finish_issue(act, job, "agreed")


def test_each_job_of_these_days_stands_on_it_as_it_is(place):
    assert stands(place) == {"J/26-104": "complete", "J-2": "short", "J-late": "not-loaded"}
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    assert stands(place)["J/26-104"] == "broken"
    with acting(STORES) as act:
        reserve(act, Job.objects.get(pk=place.job.pk))
    issue(Job.objects.get(pk=place.job.pk))
    assert stands(place)["J/26-104"] == "out"
    with acting(STORES) as act:
        lose(act, place.item("NY-B2"), "left in the trench")
    [bar] = [bar for bar in on_board(place).bars if bar.job == place.job]
    assert (bar.how, bar.unfit) == ("out", 1)
    with acting(STORES) as act:
        days = {"load_on": in_days(-3), "return_on": in_days(-1)}
        change_job(act, Job.objects.get(pk=place.job.pk), **days)
    assert stands(place)["J/26-104"] == "late-back"
    Job.objects.filter(reference="J-late").update(state=JobState.CANCELLED)
    assert "J-late" not in stands(place)


def test_a_kind_that_two_want_is_told_by_day_with_who_lacks_and_who_has_it(place):
    by_kind = {each.kind: each for each in on_board(place).scarce}
    # Five bags: four for the first job, one for the second, which lacks three on each of its days. Two bases suit.
    assert set(by_kind) == {"bag", "base"}
    bag = by_kind["bag"]
    assert bag.short_on == {in_days(day): 3 for day in (8, 9, 10)}
    assert [(job.reference, n) for job, n in bag.lacking] == [("J-2", 3)]
    assert [(job.reference, n) for job, n in bag.holding] == [("J/26-104", 4)]
    [row] = [row for row in rows_of(on_board(place)) if row.bar.job.reference == "J-2"]
    assert {(want.kind, want.others) for want in row.wants} == {("bag", "J/26-104"), ("base", "J/26-104")}


def test_what_was_never_reserved_is_scarce_only_where_the_depot_has_too_few(place):
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "J-alone", 15, 16))
    assert all(
        "J-alone" not in [job.reference for job, _n in each.lacking] for each in on_board(place).scarce
    )
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "J-beside", 16, 17))
    lacking = {each.kind: [job.reference for job, _n in each.lacking] for each in on_board(place).scarce}
    # Eight bags are wanted and five suit by date; of bases four are wanted and three are there, one of another mark.
    assert {"J-alone", "J-beside"} <= set(lacking["bag"])
    assert {"J-alone", "J-beside"} <= set(lacking["base"])
    assert "seal" not in lacking


def test_turn_round_days_are_drawn_and_the_bars_cover_each_day_once(place):
    with acting(STORES) as act:
        set_kind(act, "bag", turn_round_days=2)
    board = on_board(place)
    rows = rows_of(board)
    for row in rows:
        assert sum(cell.span for cell in row.cells) == len(board.days) == 28
        assert sum(cell.holds for cell in row.cells) == 1
    [row] = [row for row in rows if row.bar.job == place.job]
    drawn = [(cell.what, cell.span) for cell in row.cells if cell.what]
    assert drawn == [("bar", 6), ("turn", 2)]
    entries = {entry.day.day: entry for entry in day_entries(board, rows)}
    assert [each.bar.job for each in entries[in_days(7)].loads] == [place.job]
    assert [each.bar.job for each in entries[in_days(12)].back] == [place.job]
    assert place.job in [each.bar.job for each in entries[in_days(15)].free]
    assert timezone.localdate() in entries


def test_the_head_of_the_board_has_what_lacks_most_and_says_that_there_is_more(place, monkeypatch):
    client = seat(Role.PLANNER, place.north)
    assert "further kind" not in client.get(reverse("plan_board")).content.decode()
    monkeypatch.setattr("kit.views.plan_cells.MOST_SCARCE", 1)
    answer = client.get(reverse("plan_board"))
    # Three bags a day against two bases.
    assert [row.scarce.kind for row in answer.context["scarcest"]] == ["bag"]
    page = answer.content.decode()
    assert "1 further kind is lacking: see below." in page
    assert "Who has some meanwhile" in page


def test_by_crew_those_without_one_come_last(place):
    groups = groups_of(rows_of(on_board(place)), "crew")
    assert [group.name for group in groups] == ["Crew Breck", "no crew named"]
    assert [bar.job.reference for bar in on_board(place, crew="Crew Breck").bars] == ["J-2"]


@pytest.mark.parametrize("role", [Role.PLANNER, Role.STORES, Role.CREW, Role.EXAMINER])
def test_everybody_sees_it_and_planners_can_move(place, role):
    page = seat(role, place.north).get(reverse("plan_board")).content.decode()
    assert "J/26-104" in page
    may = role in (Role.PLANNER, Role.STORES)
    assert ('data-bar="J/26-104"' in page) is may
    # The same in words for who sees no bars.
    assert "The same as a table" in page


def test_what_is_asked_for_badly_is_said_and_shown_as_usual(place):
    answer = seat(Role.PLANNER, place.north).get(
        reverse("plan_board"), {"first": "2026-02-31", "weeks": "99", "by": "x"}
    )
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "Enter a valid date" in page
    assert "less than or equal to 8" in page
    assert date_format(monday_of(place.today), "D j M Y") in page


def ask(place: Yard, role: str = Role.PLANNER, job: str = "J/26-104", **query):
    alone = {"HX-Request": "true"}
    return seat(role, place.north).get(reverse("move_job", args=[job]), query, headers=alone)


def test_what_gives_is_told_and_nothing_is_written(place):
    seat(Role.PLANNER, place.north)
    head = LedgerEntry.objects.count()
    answer = ask(place, load_on=in_days(20), return_on=in_days(25), next="/plan/")
    text = re.sub(r"\s+", " ", answer.content.decode())
    assert "would be whole" in text
    assert "J-2" in text
    assert "could be made whole" in text
    assert "Comes free" in text
    assert f'name="revision" value="{Job.objects.get(pk=place.job.pk).revision}"' in text
    assert "<html" not in text
    assert LedgerEntry.objects.count() == head
    assert Job.objects.get(pk=place.job.pk).load_on == in_days(7)


def test_days_that_cannot_be_are_refused_in_the_panel(place):
    answer = ask(place, load_on=in_days(20), return_on=in_days(19))
    assert "cannot be back before it is loaded" in answer.content.decode()


def press(place: Yard, do: str = "move", role: str = Role.PLANNER, job: str = "J/26-104", **more):
    row = Job.objects.get(reference=job)
    data = {"load_on": in_days(20), "return_on": in_days(25), "revision": row.revision, "do": do, **more}
    return seat(role, place.north).post(reverse("move_job", args=[job]), data, follow=True)


def test_one_press_moves_it_and_one_reserves_with_it(place):
    page = press(place, next=reverse("plan_board") + "?by=crew").content.decode()
    assert "is moved" in page
    job = Job.objects.get(pk=place.job.pk)
    assert (job.load_on, job.return_on) == (in_days(20), in_days(25))
    page = press(
        place, "move-and-reserve", job="J-2", load_on=in_days(8), return_on=in_days(11)
    ).content.decode()
    assert "the kit is complete" in page
    assert Reservation.objects.filter(job__reference="J-2", standing=Standing.PROMISED).count() == 7


def test_a_job_that_moved_meanwhile_is_not_moved_again(place):
    old = Job.objects.get(pk=place.job.pk).revision
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=place.job.pk), site="Mill Lane")
    page = press(place, revision=old).content.decode()
    assert "has changed since this was shown" in page
    assert Job.objects.get(pk=place.job.pk).load_on == in_days(7)


def test_of_a_job_that_is_out_only_the_return_moves(place):
    issue(Job.objects.get(pk=place.job.pk))
    press(place, load_on=in_days(3), return_on=in_days(14))
    job = Job.objects.get(pk=place.job.pk)
    assert (job.load_on, job.return_on) == (in_days(7), in_days(14))


def test_others_may_not_ask_or_move_and_no_press_is_taken_that_is_not_offered(place):
    assert ask(place, Role.CREW, load_on=in_days(20), return_on=in_days(25)).status_code == 403
    assert press(place, role=Role.CREW).status_code == 403
    assert press(place, "dance").status_code == 400
    assert press(place, revision="").status_code == 400
    assert Job.objects.get(pk=place.job.pk).load_on == in_days(7)


def test_nobody_is_sent_to_a_page_that_is_not_ours(place):
    answer = press(place, next="https://example.org/elsewhere")
    assert [where for where, _status in answer.redirect_chain] == [reverse("plan_board")]


def test_the_page_without_scripts_does_the_same(place):
    client = seat(Role.PLANNER, place.north)
    page = client.get(reverse("move_job", args=["J/26-104"])).content.decode()
    assert "See what gives" in page
    query = {
        "load_on": in_days(20).isoformat(),
        "return_on": in_days(25).isoformat(),
        "next": "/plan/?by=crew",
    }
    page = client.get(reverse("move_job", args=["J/26-104"]), query).content.decode()
    assert "would be whole" in page
    assert "Move J/26-104" in page
    assert f"?next={quote('/plan/', safe='')}" in client.get(reverse("plan_board")).content.decode()


def test_the_paper_is_a_pdf_of_these_weeks(place):
    answer = seat(Role.CREW, place.north).get(reverse("plan_board_pdf"), {"weeks": "2"})
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert place.north.code in answer["Content-Disposition"]
