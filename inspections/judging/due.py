"""When a check is due: from its rule, the records of it, and the uses that called for it since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, NamedTuple

from inspections.judging.intervals import Interval
from kit.planning.values import Gate

Basis = Literal["done", "anchor"]
Verdict = Literal["pass", "fail", "doubt"]
DueStatus = Literal["never", "failed", "dated"]


@dataclass(frozen=True, slots=True)
class Rule:
    """A check that a kind of item needs.

    `basis` "done" counts from the day last done, "anchor" keeps to a grid from the first day ever
    recorded. `early_days` (anchor only): done so many days before a grid point, or fewer, a check counts
    for that point. `gates`: while it is not in date, the item may not go out. `after_use`: a use calls
    for it again at once.
    """

    check: str
    interval: Interval
    basis: Basis = "done"
    early_days: int = 0
    gates: bool = True
    after_use: bool = False

    def __post_init__(self) -> None:
        if self.basis not in ("done", "anchor"):
            raise ValueError(f"The basis of {self.check!r} is {self.basis!r}; write done or anchor.")
        if self.early_days < 0:
            raise ValueError(f"The early days of {self.check!r} are {self.early_days}; write 0 or more.")


@dataclass(frozen=True, slots=True)
class Record:
    """One doing of a check. `order` rises with recording, calls included; it decides within a day."""

    done_on: date
    verdict: Verdict
    order: int


class Call(NamedTuple):
    """A use on `day` that calls for the after-use check; `order` as in Record."""

    day: date
    order: int


@dataclass(frozen=True, slots=True)
class Due:
    """When a check is due. In date up to and with `due_on`, overdue the day after.

    status "never": not done yet, due at once, `due_on` None. "failed": the latest verdict is a fail or a
    doubt, due on that very day. "dated": due on `due_on`; a `note` means that a use waits for its
    check, and the item is not fit meanwhile, not even on that day.
    """

    check: str
    due_on: date | None
    last_done: date | None
    last_verdict: Verdict | None
    status: DueStatus
    note: str = ""


def known_by(records: Iterable[Record], as_of: date) -> tuple[Record, ...]:
    """The records of work done up to and with `as_of`; what was done later is not looked at."""
    return tuple(record for record in records if record.done_on <= as_of)


def calls_known_by(calls: Iterable[tuple[date, int]], as_of: date) -> tuple[Call, ...]:
    """The calls up to and with `as_of`."""
    return tuple(Call(day, order) for day, order in calls if day <= as_of)


def next_due(rule: Rule, records: Iterable[Record], calls: Iterable[tuple[date, int]] = ()) -> Due:
    """When the check of `rule` is next due, from `records` of that one check on one item, in any order.

    The latest record decides: by the day done, then by order of recording. `calls` (day, order) are
    looked at only if the rule is an after-use check. A record answers a call if done on a later day, or
    on the same day and recorded after it; the first call not answered makes the check due on its day, if
    it was not due before. A call moves neither a failed check nor one never done: those bar the item
    already.
    """
    by_time = sorted(records, key=_when)
    if not by_time:
        return Due(rule.check, None, None, None, "never")
    first, last = by_time[0], by_time[-1]
    if last.verdict != "pass":
        return Due(rule.check, last.done_on, last.done_on, last.verdict, "failed")
    due_on, note = _renewed_until(rule, first.done_on, last.done_on), ""
    unanswered = [day for day, order in calls if (day, order) >= _when(last)] if rule.after_use else []
    if unanswered:
        since = min(unanswered)
        due_on, note = min(since, due_on), f"used, awaiting its check since {since.isoformat()}"
    return Due(rule.check, due_on, last.done_on, last.verdict, "dated", note)


def gates_of(
    rules: Iterable[Rule],
    records_by_check: Mapping[str, Sequence[Record]],
    calls: Sequence[tuple[date, int]] = (),
) -> tuple[Gate, ...]:
    """The gating checks of one item, in the order of `rules`; checks that do not gate are left out."""
    dues = (next_due(rule, records_by_check.get(rule.check, ()), calls) for rule in rules if rule.gates)
    return tuple(Gate(due.check, due.status, due.due_on, due.last_done, due.note) for due in dues)


def _when(record: Record) -> tuple[date, int]:
    return record.done_on, record.order


def _renewed_until(rule: Rule, first_done: date, last_done: date) -> date:
    """The due date that a pass on `last_done` gives."""
    if rule.basis == "done":
        return rule.interval.add_to(last_done)
    # Each grid point is counted from the first day, not from the last: 31 January, 28 February, 31 March.
    covered = last_done + timedelta(days=rule.early_days)
    return rule.interval.add_to(first_done, rule.interval.whole_between(first_done, covered) + 1)
