"""A rule that changes on a day, a concession for one due date, days of grace: one worked case each."""

from collections.abc import Callable
from datetime import date

import pytest

from inspections.judging import (
    Call,
    Due,
    Extension,
    Interval,
    Record,
    Rule,
    Version,
    due_under,
    gate_under,
    next_due,
)
from kit.planning import judge_fitness
from kit.planning.values import NO_LIMIT

DONE = date(2026, 1, 10)
PASS = Record(DONE, "pass", 1)
ASKED = date(2026, 2, 1)
CHANGE = date(2026, 5, 1)


def rule(interval: str = "P6M", **settings: object) -> Rule:
    return Rule("leak test", Interval.parse(interval), **settings)  # type: ignore[arg-type]


def since_ever(asked: Rule) -> Version:
    return Version(date.min, asked, 1, date.min)


def from_may(asked: Rule | None, known_on: date = DONE) -> Version:
    return Version(CHANGE, asked, 2, known_on)


def due_on(*versions: Version, as_of: date = ASKED, calls: tuple[Call, ...] = ()) -> date | None:
    due = due_under(versions, [PASS], calls, [], as_of)
    assert due is not None
    return due.due_on


@pytest.mark.parametrize(
    ("first", "then", "due"),
    [
        ("P6M", "P12M", date(2027, 1, 10)),  # longer before it falls due: the new date
        ("P2M", "P12M", date(2026, 3, 10)),  # falls due before the change: out of date in between
        ("P6M", "P5M", date(2026, 6, 10)),  # shorter, and not yet past on the day of the change
        ("P6M", "P3M", date(2026, 4, 30)),  # shorter and past already: in date to the eve of the change
        ("P110D", "P12M", date(2027, 1, 10)),  # falls due on the eve, 30 April: no gap
        ("P109D", "P12M", date(2026, 4, 29)),  # a day sooner: the eve is out of date
        ("P111D", "P112D", date(2026, 5, 2)),
    ],
)
def test_a_change_known_ahead_counts_from_its_day_on(first: str, then: str, due: date) -> None:
    assert due_on(since_ever(rule(first)), from_may(rule(then))) == due


def test_a_change_is_not_looked_at_before_it_is_known_but_is_once_in_force() -> None:
    versions = since_ever(rule()), from_may(rule("P12M"), known_on=date(2026, 6, 1))
    assert due_on(*versions) == date(2026, 7, 10)
    assert due_on(*versions, as_of=CHANGE) == date(2027, 1, 10)


def test_of_two_versions_from_one_day_the_later_number_holds() -> None:
    withdrawn = Version(CHANGE, rule("P6M"), 3, DONE)
    assert due_on(since_ever(rule()), from_may(rule("P3M")), withdrawn) == date(2026, 7, 10)


def test_a_check_that_ceases_limits_nothing_and_one_out_of_date_by_then_still_does() -> None:
    assert due_on(since_ever(rule()), from_may(None)) == NO_LIMIT
    assert due_on(since_ever(rule("P2M")), from_may(None)) == date(2026, 3, 10)
    assert due_under([since_ever(rule()), from_may(None)], [PASS], [], [], CHANGE) is None


def test_a_new_check_announced_leaves_the_item_in_date_until_the_eve() -> None:
    announced = [from_may(rule())]
    eve = date(2026, 4, 30)
    assert due_under(announced, [], [], [], ASKED) == Due("leak test", eve, None, None, "dated")
    never = due_under(announced, [], [], [], CHANGE)
    assert never is not None
    assert never.status == "never"
    assert due_under(announced, [], [], [], date(2025, 1, 1)) is None


def test_uses_counted_only_by_a_later_rule_call_on_the_day_it_comes_into_force() -> None:
    calls = tuple(Call(date(2026, 1, day), day) for day in (20, 21, 22))
    versions = since_ever(rule(after_uses=4)), from_may(rule(after_uses=2))
    assert due_on(*versions, calls=calls) == date(2026, 4, 30)
    due = due_under(versions, [PASS], calls, [], CHANGE)
    assert due is not None
    assert (due.due_on, due.note) == (
        date(2026, 1, 21),
        "used 3 times since its last check, the last on 2026-01-22",
    )


@pytest.mark.parametrize(
    ("settings", "cause", "note"),
    [
        ({"after_repair": True}, "repair", "repaired, awaiting its check since 2026-03-01"),
        ({"after_quarantine": True}, "quarantine", "set aside, awaiting its re-test since 2026-03-01"),
        ({}, "ordered", "re-test ordered, awaiting it since 2026-03-01"),
        ({"after_uses": 1}, "use", "used once since its last check, on 2026-03-01"),
        ({}, "repair", ""),
        ({}, "quarantine", ""),
        ({"after_uses": 2}, "use", ""),
    ],
)
def test_only_what_the_rule_asks_for_calls(settings: dict[str, object], cause: str, note: str) -> None:
    call = Call(date(2026, 3, 1), 2, cause)  # type: ignore[arg-type]
    due = next_due(rule(**settings), [PASS], [call])
    assert (due.note, due.due_on) == (note, date(2026, 3, 1) if note else date(2026, 7, 10))


def test_time_in_store_counts_from_the_last_check_or_use_and_is_a_plain_date() -> None:
    stored = rule("P1Y", after_storage=Interval.parse("P3M"))
    assert next_due(stored, [PASS]).due_on == date(2026, 4, 10)
    used = next_due(stored, [PASS], [Call(date(2026, 2, 1), 2), Call(date(2025, 12, 1), 3)])
    assert (used.due_on, used.note) == (date(2026, 5, 1), "")
    assert next_due(stored, [PASS], [Call(date(2026, 12, 1), 2)]).due_on == date(2027, 1, 10)


def test_a_concession_puts_off_one_due_date_and_the_reason_says_so() -> None:
    granted = Extension(date(2026, 7, 10), date(2026, 8, 1), granted_on=date(2026, 7, 1))
    versions, day = [since_ever(rule())], date(2026, 7, 20)
    gate = gate_under(versions, [PASS], [], [granted], day)
    assert gate is not None
    assert judge_fitness(None, [gate]).reason == "leak test due 2026-08-01, conceded from 2026-07-10"
    assert gate.due_on == date(2026, 8, 1)
    for lapsed in (
        due_under(versions, [PASS], [], [granted], date(2026, 6, 30)),  # not granted yet
        due_under([since_ever(rule("P182D"))], [PASS], [], [granted], day),  # 11 July is another due date
    ):
        assert lapsed is not None
        assert lapsed.conceded_from is None
    ended = Extension(granted.due_on, granted.until, granted.granted_on, ended_on=day)
    for end_day, until in ((date(2026, 7, 19), granted.until), (day, granted.due_on)):
        due = due_under(versions, [PASS], [], [ended], end_day)
        assert due is not None
        assert due.due_on == until


def test_a_concession_that_no_day_leans_on_is_not_named() -> None:
    # Due on the eve of the change: the new rule takes over before the concession is needed.
    versions = [since_ever(rule("P110D")), from_may(rule("P12M"))]
    eve = date(2026, 4, 30)
    due = due_under(versions, [PASS], [], [Extension(eve, date(2026, 6, 1), DONE)], ASKED)
    assert due is not None
    assert (due.due_on, due.conceded_from) == (date(2027, 1, 10), None)


def test_a_concession_helps_neither_a_check_failed_nor_one_called_for() -> None:
    versions, day = [since_ever(rule(after_use=True))], date(2026, 3, 1)
    granted = [Extension(when, date(2027, 1, 1), DONE) for when in (date(2026, 7, 10), day)]
    failed = due_under(versions, [PASS, Record(day, "fail", 2)], [], granted, day)
    called = due_under(versions, [PASS], [Call(day, 2)], granted, day)
    for due in (failed, called):
        assert due is not None
        assert (due.due_on, due.conceded_from) == (day, None)


def test_grace_follows_the_due_date_of_a_check_that_does_not_gate() -> None:
    late = rule(gates=False, grace_days=14)
    assert next_due(late, [PASS]).grace_until == date(2026, 7, 24)
    assert next_due(late, [Record(DONE, "fail", 1)]).grace_until is None
    assert next_due(rule(), [PASS]).grace_until is None
    conceded = due_under(
        [since_ever(late)], [PASS], [], [Extension(date(2026, 7, 10), CHANGE.replace(month=8), DONE)], ASKED
    )
    assert conceded is not None
    assert conceded.grace_until == date(2026, 8, 15)


def test_a_check_that_begins_to_gate_bars_from_that_day_on() -> None:
    begins = [since_ever(rule("P2M", gates=False)), from_may(rule("P2M"))]
    ceases = [since_ever(rule("P6M")), from_may(rule("P2M", gates=False))]
    assert [
        gate.due_on if (gate := gate_under(versions, [PASS], [], [], ASKED)) else None
        for versions in (begins, ceases, [since_ever(rule(gates=False))])
    ] == [date(2026, 4, 30), NO_LIMIT, None]


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: rule(grace_days=1), "can have no days of grace"),
        (lambda: rule(gates=False, grace_days=-1), "days of grace .* are -1; write 0 or more"),
        (lambda: rule(after_uses=-1), "write 0 or more"),
        (lambda: Extension(DONE, DONE, DONE), "name a later day"),
    ],
)
def test_what_makes_no_sense_is_refused(make: Callable[[], object], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        make()
