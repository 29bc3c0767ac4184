"""How many whole intervals fit between two days, and what lies past the calendar's end."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import Interval, IntervalFault

INTERVALS = st.builds(
    Interval, st.integers(0, 3), st.integers(0, 25), st.integers(0, 8), st.integers(1, 100)
) | st.sampled_from([Interval.parse(text) for text in ("P1D", "P1W", "P1M", "P6M", "P1Y", "P4Y")])


@given(
    INTERVALS, st.dates(date(1990, 1, 1), date(2030, 12, 31)), st.integers(min_value=-400, max_value=20_000)
)
def test_whole_intervals_between_two_days_are_the_most_that_fit(
    interval: Interval, start: date, days: int
) -> None:
    end = start + timedelta(days=days)
    k = interval.whole_between(start, end)
    assert interval.add_to(start, k + 1) > end
    assert k == 0 or interval.add_to(start, k) <= end


def test_no_interval_added_is_the_day_itself() -> None:
    assert Interval.parse("P6M").add_to(date(2026, 8, 31), 0) == date(2026, 8, 31)


def test_a_day_past_the_year_9999_is_refused() -> None:
    with pytest.raises(IntervalFault, match=r"9999-01-01 plus 1 x P1Y is past the year 9999\."):
        Interval.parse("P1Y").add_to(date(9999, 1, 1))
    with pytest.raises(IntervalFault, match="past the year 9999"):
        Interval.parse("P1D").add_to(date(9999, 12, 31))
