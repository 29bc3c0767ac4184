"""What breaks in a plan, in the order in which it bites. Pure: what is broken comes in, its order goes out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

What = Literal["on-site", "broken", "late-back", "short"]

_WEIGHT: dict[What, int] = {"on-site": 0, "broken": 1, "late-back": 2, "short": 3}


@dataclass(frozen=True, slots=True)
class Break:
    """One job with one thing wrong.

    "on-site": pieces in use on it are no longer fit for it. "broken": promises no longer hold. "late-back": it should
    have been back. "short": nothing was ever promised for some of its lines.

    `bites_on` is the day on which somebody stands there without the piece, None if nobody waits for it. `pieces` are
    concerned, for `replaceable` of them a substitute is free. `priority` runs from 1 to 9, 9 weighing most.
    """

    job: str
    what: What
    bites_on: date | None
    pieces: int
    replaceable: int = 0
    priority: int = 1

    def __post_init__(self) -> None:
        if not 0 <= self.replaceable <= self.pieces:
            raise ValueError(f"{self.job}: {self.replaceable} of {self.pieces} pieces cannot be replaceable")


def bites_on(what: What, load_on: date, today: date, waiting: Iterable[date] = ()) -> date | None:
    """The day on which a break of this kind bites.

    What is on site bites today. What is late back bites on the first loading day of the jobs that wait for its pieces
    (`waiting`), or never yet. All else bites when the van is loaded, on `load_on`; a loading day that is past is today.
    """
    if what == "on-site":
        return today
    if what == "late-back":
        first = min(waiting, default=None)
        return None if first is None else max(first, today)
    return max(load_on, today)


def days_left(each: Break, today: date) -> int | None:
    """Whole days until it bites, 0 for today and for what has bitten already; None if nobody waits for it."""
    return None if each.bites_on is None else max(0, (each.bites_on - today).days)


def ranked(breaks: Iterable[Break], today: date) -> list[Break]:
    """The breaks in the order in which they want mending.

    The fewest days left come first. Of one day: the job of the higher priority, then where more pieces have no
    substitute, then where more pieces are concerned at all, then pieces on site before promises, late vans and what
    was never promised, then by reference. What nobody waits for comes last.
    """
    return sorted(breaks, key=lambda each: _key(each, today))


def _key(each: Break, today: date) -> tuple[bool, int, int, int, int, int, str]:
    left = days_left(each, today)
    without = each.pieces - each.replaceable
    return (
        left is None,
        left or 0,
        -each.priority,
        -without,
        -each.pieces,
        _WEIGHT[each.what],
        each.job,
    )
