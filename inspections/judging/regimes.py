"""When a check is due while its rule changes: versions with the day each comes into force, and concessions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from inspections.judging.calls import Call, calls_known_by
from inspections.judging.due import Due, gate_of, grace_until, next_due
from inspections.judging.records import Record, known_by
from inspections.judging.rules import Rule
from kit.planning.values import NO_LIMIT, Gate

_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Version:
    """The rule of one check from `in_force_from` on (date.min: ever since); None: no longer asked for.

    `number` rises with each version of the check; of two from one day the greater number holds.
    `known_on`: the day it was decided; before that day nobody could plan with it.
    """

    in_force_from: date
    rule: Rule | None
    number: int
    known_on: date


@dataclass(frozen=True, slots=True)
class Extension:
    """A concession: the check that falls due on `due_on` stays in date up to and with `until`.

    It holds for that one due date: a later record or another rule gives another date, and it lapses. It
    counts from `granted_on`, and no longer on `ended_on`.
    """

    due_on: date
    until: date
    granted_on: date
    ended_on: date | None = None

    def __post_init__(self) -> None:
        if self.until <= self.due_on:
            raise ValueError(
                f"The concession runs until {self.until.isoformat()}, but the check is in date until "
                f"{self.due_on.isoformat()} without it; name a later day."
            )

    def counts_on(self, day: date) -> bool:
        """Whether it was granted by `day` and had not been ended by then."""
        return self.granted_on <= day and (self.ended_on is None or day < self.ended_on)


class _Stretch(NamedTuple):
    """Days `starts` to `ends`, both included, on which one rule is in force."""

    starts: date
    ends: date
    rule: Rule | None


def rule_in_force(versions: Iterable[Version], day: date) -> Rule | None:
    """The rule in force on `day`; None if the check is not asked for then."""
    begun = [version for version in versions if version.in_force_from <= day]
    return max(begun, key=_precedence).rule if begun else None


def due_under(
    versions: Iterable[Version],
    records: Iterable[Record],
    calls: Iterable[Call],
    extensions: Iterable[Extension],
    as_of: date,
) -> Due | None:
    """When one check on one item is due, as seen on `as_of`, under all versions of its rule known by then.

    `due_on` is the last day of the unbroken run of days in date that starts on `as_of`, each day judged by
    the rule in force on it: NO_LIMIT if the run has no end. If it is not in date on `as_of`, the rule in force
    then says since when and why. Where nothing is asked for on `as_of` but a later version will ask, it is
    "dated" until that version finds it wanting. None: not asked for on `as_of` nor, by what is known, later.

    Records and calls after `as_of` are not looked at, nor concessions granted later or ended by then. A
    version counts if it was in force by `as_of` or known by then.
    """
    stretches = _stretches(versions, as_of)
    check = next((stretch.rule.check for stretch in stretches if stretch.rule), None)
    if check is None:
        return None
    known, known_calls = known_by(records, as_of), calls_known_by(calls, as_of)
    granted = [extension for extension in extensions if extension.counts_on(as_of)]
    latest = max(known, key=lambda record: record.when, default=None)
    conceded_from: date | None = None
    for starts, ends, rule in stretches:
        if rule is None:
            continue
        due = _extended(next_due(rule, known, known_calls), rule, granted)
        if not due.in_date_on(starts) and starts == as_of:
            return due
        last_day = starts - _ONE_DAY
        if due.in_date_on(starts):
            assert due.due_on is not None
            last_day = min(due.due_on, ends)
            if conceded_from is None and due.conceded_from is not None and due.conceded_from < last_day:
                conceded_from = due.conceded_from
        if last_day < ends:
            break
    else:
        last_day, rule = NO_LIMIT, None
    return Due(
        check,
        last_day,
        latest.done_on if latest else None,
        latest.verdict if latest else None,
        "dated",
        conceded_from=conceded_from,
        grace_until=grace_until(rule, last_day) if rule else None,
    )


def gate_under(
    versions: Iterable[Version],
    records: Iterable[Record],
    calls: Iterable[Call],
    extensions: Iterable[Extension],
    as_of: date,
) -> Gate | None:
    """The check as it bars the item from going out: due under those versions alone that gate.

    A check that starts to gate on a later day bars from that day on, one that ceases to gate limits no longer.
    None: it does not gate, now or later. Arguments as for `due_under`.
    """
    gating = [
        version if version.rule is not None and version.rule.gates else replace(version, rule=None)
        for version in versions
    ]
    due = due_under(gating, records, calls, extensions, as_of)
    return gate_of(due) if due else None


def _precedence(version: Version) -> tuple[date, int]:
    return version.in_force_from, version.number


def _stretches(versions: Iterable[Version], as_of: date) -> list[_Stretch]:
    """The days from `as_of` on, cut where a version comes into force, by what counts on `as_of`."""
    counted = [v for v in versions if v.in_force_from <= as_of or v.known_on <= as_of]
    starts = sorted({as_of, *(v.in_force_from for v in counted if v.in_force_from > as_of)})
    ends = [*(later - _ONE_DAY for later in starts[1:]), NO_LIMIT]
    return [
        _Stretch(first, last, rule_in_force(counted, first)) for first, last in zip(starts, ends, strict=True)
    ]


def _extended(due: Due, rule: Rule, granted: Iterable[Extension]) -> Due:
    """`due` put off by the concessions for its very date; a check failed, never done or called for never is."""
    if due.status != "dated" or due.note or due.due_on is None:
        return due
    until = max((extension.until for extension in granted if extension.due_on == due.due_on), default=None)
    if until is None:
        return due
    return replace(due, due_on=until, conceded_from=due.due_on, grace_until=grace_until(rule, until))
