"""When a check is due, from the records of it: the rules that the register's own page of dates states."""

from collections.abc import Callable
from datetime import date

import pytest

from inspections.judging import Due, Interval, Record, Rule, known_by, next_due


def rule(interval: str = "P6M", **settings: object) -> Rule:
    return Rule("leak test", Interval.parse(interval), **settings)  # type: ignore[arg-type]


def passed(day: str, order: int = 0) -> Record:
    return Record(date.fromisoformat(day), "pass", order)


def test_never_done_is_due_at_once() -> None:
    for gates in (True, False):
        assert next_due(rule(gates=gates), []) == Due("leak test", None, None, None, "never")


def test_counts_from_the_day_done_and_clips_to_the_month_end() -> None:
    assert next_due(rule(), [passed("2026-08-31")]).due_on == date(2027, 2, 28)
    assert next_due(rule(), [passed("2027-08-31")]).due_on == date(2028, 2, 29)
    assert next_due(rule("P90D"), [passed("2026-11-02")]).due_on == date(2027, 1, 31)


def test_the_latest_day_done_decides_whatever_was_recorded_last() -> None:
    records = [passed("2026-06-01", order=9), passed("2026-07-01", order=2)]
    due = next_due(rule(), records)
    assert (due.last_done, due.due_on) == (date(2026, 7, 1), date(2027, 1, 1))


@pytest.mark.parametrize("verdict", ["fail", "doubt"])
def test_a_fail_or_a_doubt_makes_it_due_again_on_that_very_day(verdict: str) -> None:
    day = date(2026, 7, 1)
    records = [passed("2026-01-01", order=1), Record(day, verdict, 2)]  # type: ignore[arg-type]
    assert next_due(rule(), records) == Due("leak test", day, day, verdict, "failed")  # type: ignore[arg-type]


def test_of_two_verdicts_on_one_day_the_one_recorded_later_decides() -> None:
    day = date(2026, 7, 1)
    passed_last = [Record(day, "fail", 1), Record(day, "pass", 2)]
    failed_last = [Record(day, "pass", 1), Record(day, "fail", 2)]
    for turn in (list, lambda records: list(reversed(records))):
        assert next_due(rule(), turn(passed_last)).status == "dated"
        assert next_due(rule(), turn(failed_last)).status == "failed"


def test_an_earlier_fail_does_not_undo_a_later_pass() -> None:
    records = [Record(date(2026, 6, 1), "fail", 5), passed("2026-07-01", order=1)]
    assert next_due(rule(), records).due_on == date(2027, 1, 1)


def test_an_anchor_keeps_its_grid_when_the_check_is_done_late() -> None:
    # Grid of P6M from 15 January 2026: 15 July 2026, 15 January 2027, ...
    records = [passed("2026-01-15"), passed("2026-08-20")]
    assert next_due(rule(basis="anchor"), records).due_on == date(2027, 1, 15)
    assert next_due(rule(basis="done"), records).due_on == date(2027, 2, 20)


@pytest.mark.parametrize(
    ("early_days", "done_on", "due_on"),
    [
        (0, "2026-07-14", "2026-07-15"),  # a day early without an early window: the grid point still stands
        (0, "2026-07-15", "2027-01-15"),  # on the grid point itself
        (14, "2026-06-30", "2026-07-15"),  # 15 days early: one too many
        (14, "2026-07-01", "2027-01-15"),  # 14 days early: counts for the grid point
        (14, "2026-07-15", "2027-01-15"),
    ],
)
def test_an_anchor_check_done_within_its_early_days_counts_for_the_grid_point(
    early_days: int, done_on: str, due_on: str
) -> None:
    records = [passed("2026-01-15"), passed(done_on)]
    due = next_due(rule(basis="anchor", early_days=early_days), records)
    assert due.due_on == date.fromisoformat(due_on)


def test_the_grid_starts_on_the_first_recorded_day_even_if_that_was_a_fail() -> None:
    records = [Record(date(2026, 1, 10), "fail", 1), passed("2026-01-20", 2)]
    assert next_due(rule(basis="anchor"), records).due_on == date(2026, 7, 10)


def test_an_older_record_found_later_moves_the_grid() -> None:
    records = [passed("2026-01-31", 1), passed("2025-12-15", 2)]
    assert next_due(rule("P1M", basis="anchor"), records).due_on == date(2026, 2, 15)


def test_decades_of_history_on_a_daily_grid_cost_nothing() -> None:
    records = [passed("1950-01-01"), passed("2026-11-02")]
    assert next_due(rule("P1D", basis="anchor"), records).due_on == date(2026, 11, 3)


def test_what_was_done_later_is_not_known_earlier() -> None:
    records = [passed("2026-06-01", 1), passed("2026-11-03", 2)]
    assert known_by(records, date(2026, 11, 2)) == (records[0],)
    assert known_by(records, date(2026, 11, 3)) == tuple(records)
    assert known_by(records, date(2026, 5, 31)) == ()


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: rule(basis="yearly"), "write done or anchor"),
        (lambda: rule(early_days=-1), "write 0 or more"),
    ],
)
def test_a_rule_that_makes_no_sense_is_refused(make: Callable[[], Rule], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        make()
