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


@pytest.mark.parametrize(
    ("interval", "start", "end", "k"),
    [
        ("P1M", "2026-07-01", "2026-08-31", 1),  # long months: 61 days are more than two of the mean
        ("P1M", "2027-02-01", "2027-03-01", 1),  # a short one: 28 days are less than one
        ("P1M", "2024-01-31", "2024-02-29", 1),
        ("P1Y", "2024-02-29", "2025-02-27", 0),
        ("P1Y", "2024-02-29", "2025-02-28", 1),
        ("P6M", "2026-08-31", "2020-01-01", 0),
    ],
)
def test_long_and_short_months_are_counted_as_they_are(interval: str, start: str, end: str, k: int) -> None:
    counted = Interval.parse(interval).whole_between(date.fromisoformat(start), date.fromisoformat(end))
    assert counted == k
