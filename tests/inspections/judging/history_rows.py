"""Rows of a made-up history of one check on one item: plain values, which know neither engine nor database."""

from dataclasses import dataclass
from datetime import date, timedelta

DONE = ("pass", "fail", "doubt")
CALLS = ("use", "repair", "quarantine", "ordered")


@dataclass(frozen=True)
class RuleRow:
    """A rule; intervals in the letters of ISO 8601, `after_storage` "" where the rule has none."""

    interval: str
    basis: str = "done"
    early_days: int = 0
    gates: bool = True
    after_use: bool = False
    after_repair: bool = False
    after_quarantine: bool = False
    after_uses: int = 0
    after_storage: str = ""
    grace_days: int = 0


@dataclass(frozen=True)
class VersionRow:
    """The rule from `in_force_from` on; without a rule the check is no longer asked for."""

    in_force_from: date
    rule: RuleRow | None
    number: int
    known_on: date


@dataclass(frozen=True)
class Entry:
    """A line of the book: a verdict, "struck" or a call, that happened on `day`, entered as number `order`."""

    day: date
    what: str
    order: int
    recorded_on: date
    corrects: int | None = None


@dataclass(frozen=True)
class ConcessionRow:
    due_on: date
    until: date
    granted_on: date
    ended_on: date | None


@dataclass(frozen=True)
class History:
    """`asked`: the days to ask on. `recorded_to`: what was entered later is not known; None: all is."""

    start: date
    versions: tuple[VersionRow, ...]
    entries: tuple[Entry, ...]
    concessions: tuple[ConcessionRow, ...]
    asked: tuple[date, ...]
    recorded_to: date | None


def days(count: int) -> timedelta:
    return timedelta(days=count)
