"""Until which return a piece holds: dates, margins, turn-round days and the next promise, on days written out."""

from __future__ import annotations

from datetime import date

import pytest

from kit.planning import NO_LIMIT
from kit.planning.reach import Held, reach_of, reaches


def day(number: int) -> date:
    return date(2026, 11, number)


@pytest.mark.parametrize(
    ("piece", "until", "by_job"),
    [
        (Held("A", "bags", day(20)), day(20), ""),
        (Held("A", "bags", day(20), margin_days=3), day(17), ""),
        (Held("A", "bags", NO_LIMIT, margin_days=3), NO_LIMIT, ""),
        (Held("A", "bags", None, 0, 0, "J/2", day(9)), None, ""),
        (Held("A", "bags", day(20), 0, 0, "J/2", day(15)), day(14), "J/2"),
        (Held("A", "bags", day(20), 0, 2, "J/2", day(15)), day(12), "J/2"),
        (Held("A", "bags", day(14), 0, 0, "J/2", day(15)), day(14), ""),
        (Held("A", "bags", NO_LIMIT, 5, 0, "J/2", day(15)), day(14), "J/2"),
    ],
)
def test_what_comes_first_ends_it(piece, until, by_job):
    reach = reach_of(piece)
    assert (reach.until, reach.by_job) == (until, by_job)


def test_what_gives_out_first_stands_on_top():
    pieces = [Held("C", "x", NO_LIMIT), Held("B", "x", day(9)), Held("D", "x", None), Held("A", "x", day(9))]
    assert [reach.tag for reach in reaches(pieces)] == ["D", "A", "B", "C"]
