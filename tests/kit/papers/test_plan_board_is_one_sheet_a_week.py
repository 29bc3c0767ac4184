"""The plan board on paper: one lying A4 a week up to a stated number of jobs, legible, black, nothing left off."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from kit.models import Job
from kit.papers.plan_board import (
    LEAST_PT,
    MOST_ROWS,
    LackRow,
    PlanBoard,
    PlanRow,
    PlanWeek,
    plan_board_pdf,
    sizes,
)
from kit.papers.store_plan import plan_board_of
from kit.stores import acting, plan_job, reserve
from kit.stores.plan_board import monday_of
from tests.kit.papers.examples import STAMP, operations, pages, reader
from tests.kit.views.yard import STORES, in_days, job_of, yard

FIRST = date(2026, 11, 9)
A4_LYING = (841.89, 595.28)  # ISO 216, 297 x 210 mm in points of 1/72 inch


def row(n: int, site: str = "Weir Lane, junction with Mill Road and the lane behind it") -> PlanRow:
    load, back = FIRST + timedelta(days=n % 8 - 2), FIRST + timedelta(days=n % 8 + n % 4)
    marks = tuple(
        "job" if load <= day <= back else "turn" if day == back + timedelta(days=1) and n % 3 == 0 else ""
        for day in (FIRST + timedelta(days=k) for k in range(7))
    )
    stands = ("complete", "SHORT of 2 in 14", "BROKEN, 3 to replace", "out", "OVERDUE since 8 Nov")[n % 5]
    return PlanRow(f"J-{1000 + n}", 1 + n, "Crew Breck", site, load, back, marks, stands)


def board(*jobs: int, lacks: int = 0, **more: str) -> PlanBoard:
    weeks = [
        PlanWeek(
            FIRST + timedelta(days=7 * k),
            [row(n, **more) for n in range(number)],
            [
                LackRow(f"kind {m}", (0, 2, 2, 2, 0, 0, 0), "J-1001 2", "have it: J-1002 4")
                for m in range(lacks)
            ],
        )
        for k, number in enumerate(jobs)
    ]
    return PlanBoard("North yard", date(2026, 11, 12), STAMP, weeks)


def smallest_type(pdf: bytes) -> float:
    """The least size in points at which any text of the document is set: of the text state and its matrices."""
    found = []
    for page in reader(pdf).pages:

        def visit(text: str, cm: list, tm: list, _font: object, size: float) -> None:
            if text.strip():
                found.append(abs(size * tm[3] * cm[3]))

        page.extract_text(visitor_text=visit)
    return min(found)


def test_forty_jobs_of_a_week_stand_on_one_sheet_and_can_be_read() -> None:
    pdf = plan_board_pdf(board(40, lacks=3))
    assert len(reader(pdf).pages) == 1
    assert smallest_type(pdf) >= LEAST_PT - 0.01
    assert LEAST_PT == 7
    [text] = pages(pdf)
    for n in range(40):
        assert f"J-{1000 + n}" in text
        assert f"rev {1 + n}" in text


def test_kinds_that_lack_take_the_rows_that_jobs_leave_and_the_last_names_the_rest() -> None:
    pdf = plan_board_pdf(board(40, lacks=20))
    assert len(reader(pdf).pages) == 1
    assert smallest_type(pdf) >= LEAST_PT - 0.01
    [text] = pages(pdf)
    assert text.count("Lacking kind") == MOST_ROWS - 40 - 1
    assert "Lacking 17 further kinds: kind" in text
    # Seventeen kinds lack two each on three days.
    assert text.count("−34") == 3
    assert len(reader(plan_board_pdf(board(MOST_ROWS - 1, lacks=20))).pages) == 1
    assert len(reader(plan_board_pdf(board(MOST_ROWS, lacks=1))).pages) == 2


@pytest.mark.parametrize("jobs", [0, 1, 12, MOST_ROWS])
def test_a_week_is_one_sheet_whatever_the_texts(jobs) -> None:
    for site in ("", "Weir Lane", "W" * 200, "a very long way " * 12):
        assert len(reader(plan_board_pdf(board(jobs, site=site))).pages) == 1


def test_each_week_has_a_sheet_of_its_own_lying_down() -> None:
    found = reader(plan_board_pdf(board(3, 0, 5, 7))).pages
    assert len(found) == 4
    for page in found:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4_LYING, abs=0.5)


def test_beyond_that_the_week_goes_on_to_another_sheet_which_says_so() -> None:
    printed = pages(plan_board_pdf(board(MOST_ROWS + 1)))
    assert len(printed) == 2
    for number, text in enumerate(printed, start=1):
        assert f"sheet {number} of 2" in text
        assert f"{MOST_ROWS + 1} jobs" in text
    listed = re.findall(r"J-\d{4}", " ".join(printed))
    assert sorted(set(listed)) == [f"J-{1000 + n}" for n in range(MOST_ROWS + 1)]
    assert smallest_type(plan_board_pdf(board(MOST_ROWS + 1))) >= LEAST_PT - 0.01


def test_type_shrinks_with_the_number_of_jobs_and_never_under_seven_points() -> None:
    told = [sizes(rows) for rows in range(1, 80)]
    assert told == sorted(told, reverse=True)
    assert all(size >= LEAST_PT for _height, size in told)
    assert sizes(5)[1] > sizes(40)[1]


def test_it_says_of_when_and_of_what_it_is() -> None:
    pdf = plan_board_pdf(board(2))
    [text] = pages(pdf)
    assert "North yard" in text
    assert "as of Thu 12 Nov 2026" in text
    assert "week of Mon 9 Nov 2026" in text
    assert "Printed Thu 12 Nov 2026 05:52 GMT · revision 3" in text
    assert "ledger 1234 · ab12cd34ef56" in text
    assert "today" in text
    document = reader(pdf)
    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"].value is True
    assert document.metadata is not None
    assert "North yard" in str(document.metadata.title)


def test_it_is_black_on_white() -> None:
    """ISO 32000-1, 8.6.8: the operators that set an ink; a mono printer has one or none."""
    inks = [
        tuple(float(operand) for operand in operands if not isinstance(operand, str))
        for operator, operands in operations(plan_board_pdf(board(12, lacks=2)))
        if operator in {b"g", b"G", b"rg", b"RG", b"k", b"K", b"sc", b"SC", b"scn", b"SCN"}
    ]
    assert inks
    assert {value for ink in inks for value in ink} <= {0.0, 1.0}
    assert all(len(set(ink)) == 1 for ink in inks)


def test_a_week_has_seven_days() -> None:
    with pytest.raises(ValueError, match="must be 7"):
        PlanRow("J-1", 1, "", "", FIRST, FIRST, ("job",), "complete")


@pytest.mark.django_db
def test_it_is_filled_from_the_register() -> None:
    place = yard()
    with acting(STORES) as act:
        reserve(act, place.job)
        beside = plan_job(act, job_of(place.north, place.arrangement, "J-2", 8, 10))
        reserve(act, beside)
    first = monday_of(place.today)
    paper = plan_board_of(place.north, first, 4, place.today)
    assert len(paper.weeks) == 4
    drawn = {}
    for week in paper.weeks:
        for each in week.rows:
            for k, mark in enumerate(each.days):
                if mark:
                    drawn.setdefault(each.reference, {})[week.first + timedelta(days=k)] = mark
    assert drawn["J/26-104"] == {in_days(day): "job" for day in range(7, 13)}
    assert drawn["J-2"] == {in_days(day): "job" for day in range(8, 11)}
    stands = {each.reference: each.stands for week in paper.weeks for each in week.rows}
    assert stands == {"J/26-104": "complete", "J-2": "SHORT of 5 in 12"}
    lacks = {lack.kind: lack for week in paper.weeks for lack in week.lacks}
    assert sum(lacks["bag"].days) >= 3
    assert lacks["bag"].holding == "have it: J/26-104 4"
    assert Job.objects.count() == 2
    assert len(reader(plan_board_pdf(paper)).pages) == 4
