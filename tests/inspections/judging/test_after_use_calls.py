"""A use calls for the after-use check at once, and only a check done after that use answers it."""

from datetime import date

import pytest

from inspections.judging import Call, Due, Interval, Record, Rule, calls_known_by, gates_of, next_due
from kit.planning import judge_fitness

AFTER_USE = Rule("after-use check", Interval.parse("P6M"), after_use=True)
USED = date(2026, 3, 10)
LATEST = Record(date(2026, 3, 1), "pass", 1)
AWAITING = "used, awaiting its check since 2026-03-10"


def test_a_use_makes_the_check_due_on_that_day() -> None:
    due = next_due(AFTER_USE, [LATEST], [Call(USED, 2)])
    assert due == Due("after-use check", USED, LATEST.done_on, "pass", "dated", AWAITING)


@pytest.mark.parametrize(
    ("record", "answered"),
    [
        (Record(date(2026, 3, 11), "pass", 1), True),  # a later day, though recorded first
        (Record(USED, "pass", 3), True),  # the same day, recorded after the return
        (Record(USED, "pass", 1), False),  # the same day, before the return: the test before use
        (Record(date(2026, 3, 9), "pass", 3), False),  # back-dated to before the use
    ],
)
def test_only_a_check_after_the_use_answers_it(record: Record, answered: bool) -> None:
    due = next_due(AFTER_USE, [LATEST, record], [Call(USED, 2)])
    assert (due.note == "") is answered
    assert (due.due_on == USED) is not answered


def test_a_check_overdue_before_the_use_stays_overdue_since_then() -> None:
    due = next_due(AFTER_USE, [Record(date(2025, 1, 5), "pass", 1)], [Call(USED, 2)])
    assert (due.due_on, due.note) == (date(2025, 7, 5), AWAITING)


def test_a_second_use_does_not_put_off_what_the_first_called_for() -> None:
    due = next_due(AFTER_USE, [LATEST], [Call(date(2026, 3, 20), 3), Call(USED, 2)])
    assert (due.due_on, due.note) == (USED, AWAITING)


def test_a_use_before_the_latest_check_is_answered_by_it() -> None:
    records = [LATEST, Record(date(2026, 3, 12), "pass", 3)]
    due = next_due(AFTER_USE, records, [Call(USED, 2), Call(date(2026, 3, 20), 4)])
    assert (due.due_on, due.note) == (date(2026, 3, 20), "used, awaiting its check since 2026-03-20")


def test_a_use_moves_neither_a_failed_check_nor_one_never_done() -> None:
    failed = Record(date(2026, 3, 5), "fail", 2)
    assert next_due(AFTER_USE, [LATEST, failed], [Call(USED, 3)]).status == "failed"
    assert next_due(AFTER_USE, [], [Call(USED, 3)]).status == "never"


def test_a_use_calls_for_no_other_check() -> None:
    calibration = Rule("calibration", Interval.parse("P6M"))
    assert next_due(calibration, [LATEST], [Call(USED, 2)]).due_on == date(2026, 9, 1)


def test_uses_after_the_day_asked_about_are_not_known() -> None:
    calls = [Call(USED, 2), Call(date(2026, 3, 11), 3)]
    assert calls_known_by(calls, USED) == (Call(USED, 2),)


def test_gates_are_the_gating_checks_in_order_with_the_use_noted() -> None:
    calibration = Rule("calibration", Interval.parse("P1Y"))
    record_only = Rule("stock count", Interval.parse("P1M"), gates=False)
    records = {"after-use check": [LATEST], "calibration": [Record(date(2026, 1, 1), "doubt", 1)]}
    gates = gates_of([calibration, record_only, AFTER_USE], records, [Call(USED, 2)])
    assert [(gate.check, gate.status, gate.due_on, gate.note) for gate in gates] == [
        ("calibration", "failed", date(2026, 1, 1), ""),
        ("after-use check", "dated", USED, AWAITING),
    ]
    assert judge_fitness(None, gates).fit_until is None
    # In date on the due date holds for dates; a piece that waits for its after-use check is not fit at all.
    assert judge_fitness(None, gates[1:]).fit_until is None


def test_a_gating_check_without_records_was_never_done() -> None:
    (gate,) = gates_of([AFTER_USE], {})
    assert (gate.status, gate.due_on, gate.last_done) == ("never", None, None)
