"""Due dates while the rule changes, against a card kept by hand that asks of each single day.

The number of histories tried is FETTLEBOOK_CASES (300 unless set).
"""

from datetime import date
from typing import Any

from hypothesis import given, settings

from inspections.judging import (
    Call,
    Extension,
    Interval,
    Record,
    Rule,
    Version,
    due_under,
    gate_under,
    known_at,
    next_due,
)
from inspections.judging.regimes import rule_in_force
from kit.planning import judge_fitness
from tests.counts import cases
from tests.inspections.judging.histories import histories
from tests.inspections.judging.history_rows import CALLS, History, RuleRow
from tests.inspections.judging.kept_by_hand import ByHand


def rule_of(row: RuleRow) -> Rule:
    fields: dict[str, Any] = dict(vars(row))
    fields["interval"] = Interval.parse(row.interval)
    fields["after_storage"] = Interval.parse(row.after_storage) if row.after_storage else None
    return Rule("check", **fields)


def told(history: History) -> tuple[list[Version], list[Record], list[Call], list[Extension]]:
    """The history in the engine's own values, entries in order of recording."""
    versions = [
        Version(row.in_force_from, rule_of(row.rule) if row.rule else None, row.number, row.known_on)
        for row in history.versions
    ]
    records = [
        Record(
            entry.day,
            None if entry.what == "struck" else entry.what,  # type: ignore[arg-type]
            entry.order,
            entry.corrects,
            entry.recorded_on,
        )
        for entry in history.entries
        if entry.what not in CALLS
    ]
    calls = [Call(e.day, e.order, e.what) for e in history.entries if e.what in CALLS]  # type: ignore[arg-type]
    extensions = [
        Extension(row.due_on, row.until, row.granted_on, row.ended_on) for row in history.concessions
    ]
    if history.recorded_to is not None:
        records = list(known_at(records, history.recorded_to))
    return versions, records, calls, extensions


@settings(max_examples=cases(300))
@given(histories())
def test_the_due_date_ends_the_run_of_days_in_date_counted_by_hand(history: History) -> None:
    versions, records, calls, extensions = told(history)
    for as_of in history.asked:
        hand = ByHand(history, as_of)
        due = due_under(versions, records, calls, extensions, as_of)
        if due is None:
            assert hand.answer() is None, as_of
            continue
        assert (due.status, due.due_on, due.note) == hand.answer(), as_of
        assert due.last_done == hand.card.last
        assert (due.last_verdict or "") == hand.card.verdict
        assert due.conceded_from == hand.conceded_from(), as_of
        assert due.grace_until == hand.grace_until(), as_of


@settings(max_examples=cases(300))
@given(histories())
def test_an_item_is_fit_until_the_last_day_before_a_gating_rule_bars_it(history: History) -> None:
    versions, records, calls, extensions = told(history)
    for as_of in history.asked:
        hand = ByHand(history, as_of)
        gate = gate_under(versions, records, calls, extensions, as_of)
        fit_until = judge_fitness(None, [gate] if gate else []).fit_until
        fit = fit_until is not None and as_of <= fit_until
        assert fit == hand.in_date_on(as_of, gating=True), as_of
        if fit:
            assert fit_until == hand.last_in_date(gating=True), as_of


@settings(max_examples=cases(300))
@given(histories())
def test_one_rule_for_ever_gives_what_the_rule_alone_gives(history: History) -> None:
    _, records, calls, _ = told(history)
    rule = rule_of(next(row.rule for row in history.versions if row.rule))
    as_of = max([date.min, *(entry.day for entry in history.entries)])
    assert due_under([Version(date.min, rule, 1, date.min)], records, calls, [], as_of) == next_due(
        rule, records, calls
    )
    assert rule_in_force([Version(as_of, rule, 1, date.min)], as_of) == rule
