"""When a check is due under one rule: from the records of it, and the calls for it since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from inspections.judging.calls import Call, waiting_since
from inspections.judging.records import Record, Verdict, standing
from inspections.judging.rules import Rule
from kit.planning.values import Gate

DueStatus = Literal["never", "failed", "dated"]


@dataclass(frozen=True, slots=True)
class Due:
    """When a check is due. In date up to and with `due_on`, overdue the day after.

    status "never": not done yet, due at once, `due_on` None. "failed": the latest verdict is a fail or a
    doubt, due on that very day. "dated": due on `due_on`; a `note` means that a call waits for its
    check, and the item is not fit meanwhile, not even on that day.

    `conceded_from`: the due date without the concession, where it is in date longer by one.
    `grace_until`: the last day of grace after `due_on`, for a dated check whose rule gives grace.
    """

    check: str
    due_on: date | None
    last_done: date | None
    last_verdict: Verdict | None
    status: DueStatus
    note: str = ""
    conceded_from: date | None = None
    grace_until: date | None = None

    def in_date_on(self, day: date) -> bool:
        """Whether it is in date on a `day` from which nothing more is known: not failed, waiting, overdue."""
        return self.status == "dated" and not self.note and self.due_on is not None and day <= self.due_on


def next_due(rule: Rule, records: Iterable[Record], calls: Iterable[Call] = ()) -> Due:
    """When the check of `rule` is next due, from `records` of that one check on one item, in any order.

    Of the records that count (see `standing`) the latest decides: by the day done, then by order of
    recording. The first of the `calls` that the rule asks for and that record does not answer makes the
    check due on its day, if it was not due before. A call moves neither a failed check nor one never
    done: those bar the item already.
    """
    by_time = sorted(standing(records), key=lambda record: record.when)
    if not by_time:
        return Due(rule.check, None, None, None, "never")
    first, last = by_time[0], by_time[-1]
    if last.verdict != "pass":
        return Due(rule.check, last.done_on, last.done_on, last.verdict, "failed")
    calls = tuple(calls)
    due_on, note = _renewed_until(rule, first.done_on, last.done_on, calls), ""
    if waiting := waiting_since(rule, calls, last.when):
        due_on, note = min(waiting.since, due_on), waiting.note
    return Due(
        rule.check,
        due_on,
        last.done_on,
        last.verdict,
        "dated",
        note,
        grace_until=grace_until(rule, due_on),
    )


def grace_until(rule: Rule, due_on: date) -> date | None:
    """The last day of grace after `due_on`; None if the rule gives none."""
    if not rule.grace_days:
        return None
    return due_on + timedelta(days=min(rule.grace_days, (date.max - due_on).days))


def gate_of(due: Due) -> Gate:
    """What the store needs to know of a check that gates."""
    return Gate(due.check, due.status, due.due_on, due.last_done, due.note, due.conceded_from)


def gates_of(
    rules: Iterable[Rule],
    records_by_check: Mapping[str, Sequence[Record]],
    calls: Sequence[Call] = (),
) -> tuple[Gate, ...]:
    """The gating checks of one item, in the order of `rules`; checks that do not gate are left out."""
    return tuple(
        gate_of(next_due(rule, records_by_check.get(rule.check, ()), calls)) for rule in rules if rule.gates
    )


def _renewed_until(rule: Rule, first_done: date, last_done: date, calls: Iterable[Call]) -> date:
    """The due date that a pass on `last_done` gives, calls aside."""
    due_on = _next_by_interval(rule, first_done, last_done)
    if rule.after_storage is None:
        return due_on
    stored_since = max([last_done, *(call.day for call in calls if call.cause == "use")])
    return min(due_on, rule.after_storage.add_to(stored_since))


def _next_by_interval(rule: Rule, first_done: date, last_done: date) -> date:
    if rule.basis == "done":
        return rule.interval.add_to(last_done)
    # Each grid point is counted from the first day, not from the last: 31 January, 28 February, 31 March.
    covered = last_done + timedelta(days=rule.early_days)
    return rule.interval.add_to(first_done, rule.interval.whole_between(first_done, covered) + 1)
