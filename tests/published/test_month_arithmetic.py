"""Months added to a day, against published values, other programs and a calendar turned by hand."""

import json
from datetime import date
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import Interval, Record, Rule, next_due

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}
MONTH_VALUES = [value for name, value in VALUES.items() if name.startswith("months-")]

# EDATE of OASIS OpenFormula, as LibreOffice 7.4.7 computes it. PostgreSQL 15 (date + interval) and
# java.time of Java 25 (LocalDate.plusMonths) gave the same 98 days when the table was made.
EDATE_MONTHS = (1, 2, 3, 6, 12, 18, 48)
EDATE_ROWS = """
2023-01-31 2023-02-28 2023-03-31 2023-04-30 2023-07-31 2024-01-31 2024-07-31 2027-01-31
2023-12-31 2024-01-31 2024-02-29 2024-03-31 2024-06-30 2024-12-31 2025-06-30 2027-12-31
2024-01-29 2024-02-29 2024-03-29 2024-04-29 2024-07-29 2025-01-29 2025-07-29 2028-01-29
2024-01-30 2024-02-29 2024-03-30 2024-04-30 2024-07-30 2025-01-30 2025-07-30 2028-01-30
2024-01-31 2024-02-29 2024-03-31 2024-04-30 2024-07-31 2025-01-31 2025-07-31 2028-01-31
2024-02-28 2024-03-28 2024-04-28 2024-05-28 2024-08-28 2025-02-28 2025-08-28 2028-02-28
2024-02-29 2024-03-29 2024-04-29 2024-05-29 2024-08-29 2025-02-28 2025-08-29 2028-02-29
2026-03-31 2026-04-30 2026-05-31 2026-06-30 2026-09-30 2027-03-31 2027-09-30 2030-03-31
2026-05-31 2026-06-30 2026-07-31 2026-08-31 2026-11-30 2027-05-31 2027-11-30 2030-05-31
2026-08-31 2026-09-30 2026-10-31 2026-11-30 2027-02-28 2027-08-31 2028-02-29 2030-08-31
2026-09-30 2026-10-30 2026-11-30 2026-12-30 2027-03-30 2027-09-30 2028-03-30 2030-09-30
2026-10-31 2026-11-30 2026-12-31 2027-01-31 2027-04-30 2027-10-31 2028-04-30 2030-10-31
2027-02-28 2027-03-28 2027-04-28 2027-05-28 2027-08-28 2028-02-28 2028-08-28 2031-02-28
2099-12-31 2100-01-31 2100-02-28 2100-03-31 2100-06-30 2100-12-31 2101-06-30 2103-12-31
"""

# Turned on a wall calendar by hand; no source but the calendar.
BY_HAND = [
    ("2026-08-31", "P6M", "2027-02-28"),
    ("2027-08-31", "P6M", "2028-02-29"),
    ("2026-11-15", "P1Y6M", "2028-05-15"),
    ("2028-02-29", "P1Y", "2029-02-28"),
    ("2028-02-29", "P4Y", "2032-02-29"),
    ("2026-01-31", "P1M1D", "2026-03-01"),  # the month first, clipped to 28 February, then the day
    ("2026-12-20", "P2W", "2027-01-03"),
    ("2028-02-28", "P2D", "2028-03-01"),
    ("2026-11-02", "P90D", "2027-01-31"),
]


@pytest.mark.parametrize("value", MONTH_VALUES, ids=lambda value: value["id"])
def test_months_clip_to_the_end_of_the_month(value: dict) -> None:
    """Source: values.json (OpenFormula EDATE, java.time plusMonths, from memory; python-dateutil)."""
    start, months = date.fromisoformat(value["inputs"]["start"]), value["inputs"]["months"]
    assert Interval(months=months).add_to(start).isoformat() == value["expected"]


def test_every_month_value_was_looked_at() -> None:
    assert len(MONTH_VALUES) == 5


@pytest.mark.parametrize("row", EDATE_ROWS.strip().splitlines(), ids=lambda row: row[:10])
def test_months_agree_with_spreadsheets_and_databases(row: str) -> None:
    """Source: OASIS OpenFormula EDATE in LibreOffice 7.4.7; see the remark at the table."""
    first, *expected = row.split()
    start = date.fromisoformat(first)
    reached = [Interval(months=months).add_to(start).isoformat() for months in EDATE_MONTHS]
    assert reached == expected


@pytest.mark.parametrize(("start", "interval", "reached"), BY_HAND)
def test_intervals_agree_with_a_calendar_turned_by_hand(start: str, interval: str, reached: str) -> None:
    """Source: a calendar, by hand."""
    assert Interval.parse(interval).add_to(date.fromisoformat(start)).isoformat() == reached


@given(
    st.dates(date(1950, 1, 1), date(2150, 12, 31)),
    st.integers(0, 5),
    st.integers(0, 30),
    st.integers(0, 60),
    st.integers(1, 400),
    st.integers(1, 40),
)
def test_intervals_agree_with_python_dateutil(
    start: date, years: int, months: int, weeks: int, days: int, k: int
) -> None:
    """Source: python-dateutil, relativedelta, multiplied by k before it is added."""
    step = k * relativedelta(years=years, months=months, weeks=weeks, days=days)
    interval = Interval(years, months, weeks, days)
    assert interval.add_to(start, k) == interval.times(k).add_to(start) == start + step


def test_an_anchor_does_not_drift() -> None:
    """Source: values.json, anchor-no-drift: anchor + n x interval, never step by step (python-dateutil)."""
    value = VALUES["anchor-no-drift"]
    anchor, interval = (
        date.fromisoformat(value["inputs"]["anchor"]),
        Interval(months=value["inputs"]["every_months"]),
    )
    assert [interval.add_to(anchor, n).isoformat() for n in value["inputs"]["n"]] == value["expected"]


def test_a_monthly_check_on_an_anchor_comes_back_to_the_31st() -> None:
    """Source: values.json, anchor-no-drift, through the due engine: done on each grid day in turn."""
    value = VALUES["anchor-no-drift"]
    rule = Rule("monthly", Interval(months=1), basis="anchor")
    done = [date.fromisoformat(value["inputs"]["anchor"])]
    for expected in value["expected"]:
        records = [Record(day, "pass", order) for order, day in enumerate(done)]
        due_on = next_due(rule, records).due_on
        assert due_on is not None
        assert due_on.isoformat() == expected
        done.append(due_on)


def test_stepping_from_month_to_month_would_drift() -> None:
    """The error that an anchor avoids: 31 January, 28 February, then 28 March (java.time and EDATE alike)."""
    rule = Rule("monthly", Interval(months=1), basis="done")
    february = next_due(rule, [Record(date(2027, 1, 31), "pass", 1)]).due_on
    assert february == date(2027, 2, 28)
    assert next_due(rule, [Record(february, "pass", 2)]).due_on == date(2027, 3, 28)
