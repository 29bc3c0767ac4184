"""What a correction or a strike-out takes away counts for nothing; what it puts in stands in the old one's place."""

from datetime import date

import pytest

from inspections.judging import Call, Interval, Record, Rule, known_at, known_by, next_due, standing

JUNE = date(2026, 6, 1)
AFTER_USE = Rule("leak test", Interval.parse("P6M"), after_use=True)
ANCHORED = Rule("leak test", Interval.parse("P6M"), basis="anchor")


def test_a_corrected_day_moves_the_due_date_and_the_first_day_of_the_grid() -> None:
    records = [
        Record(date(2025, 6, 1), "pass", 1),
        Record(date(2026, 1, 5), "pass", 2),
        Record(date(2025, 7, 1), "pass", 3, corrects=1),
    ]
    assert next_due(ANCHORED, records[:2]).due_on == date(2026, 6, 1)
    assert next_due(ANCHORED, records).due_on == date(2026, 7, 1)


def test_a_strike_out_leaves_the_record_before_it() -> None:
    records = [Record(JUNE, "pass", 1), Record(date(2026, 7, 1), "fail", 2)]
    struck = Record(date(2026, 7, 1), None, 3, corrects=2)
    assert next_due(AFTER_USE, records).status == "failed"
    assert next_due(AFTER_USE, [*records, struck]).due_on == date(2026, 12, 1)
    assert next_due(AFTER_USE, [records[1], struck]).status == "never"


def test_a_correction_of_a_correction_is_the_last_word_and_brings_nothing_back() -> None:
    first = Record(JUNE, "pass", 1)
    second = Record(JUNE, "fail", 2, corrects=1)
    third = Record(JUNE, "doubt", 3, corrects=2)
    assert standing([third, first, second]) == (Record(JUNE, "doubt", 1),)
    assert standing([first, second, Record(JUNE, None, 3, corrects=2)]) == ()


def test_of_two_corrections_of_one_record_the_later_counts() -> None:
    twice = [Record(JUNE, "fail", 2, corrects=1), Record(JUNE, "doubt", 3, corrects=1)]
    assert standing([Record(JUNE, "pass", 1), *twice]) == (Record(JUNE, "doubt", 1),)


def test_a_slip_put_right_after_the_use_does_not_answer_the_use() -> None:
    before_use, used = Record(JUNE, "fail", 1), Call(JUNE, 2)
    put_right = Record(JUNE, "pass", 3, corrects=1)
    assert next_due(AFTER_USE, [before_use, put_right], [used]).note
    assert not next_due(AFTER_USE, [before_use, Record(JUNE, "pass", 3)], [used]).note


def test_a_slip_put_right_does_not_override_a_later_fail_of_the_same_day() -> None:
    records = [
        Record(JUNE, "pass", 1),
        Record(JUNE, "fail", 2),
        Record(JUNE, "pass", 3, corrects=1),
    ]
    assert next_due(AFTER_USE, records).status == "failed"


def test_known_by_takes_corrections_as_now_known_known_at_as_then_known() -> None:
    records = [
        Record(JUNE, "pass", 1, recorded_on=JUNE),
        Record(date(2026, 6, 20), "fail", 2, corrects=1, recorded_on=date(2026, 7, 3)),
    ]
    assert known_by(records, date(2026, 6, 19)) == ()
    assert [record.verdict for record in known_by(records, date(2026, 6, 20))] == ["fail"]
    then = known_at(records, date(2026, 7, 2))
    assert known_by(then, date(2026, 6, 19)) == (records[0],)
    assert next_due(ANCHORED, known_at(records, date(2026, 7, 3))).status == "failed"


def test_a_record_without_a_verdict_must_strike_out_another() -> None:
    with pytest.raises(ValueError, match="say which record it strikes out"):
        Record(JUNE, None, 1)
