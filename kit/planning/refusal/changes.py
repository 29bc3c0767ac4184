"""What a change is, what is known of the store beside the pieces, and the answer to a job that is short."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from kit.planning.values import Held, Need, SizedBy

MOST_DAYS_MOVED = 14
"""By how many days another job is moved at most: further is another season's plan, not a mend of this one."""

What = Literal["inspect", "bring", "hurry", "release", "move"]


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that a person can do. `tag` is the piece, of a move the job.

    `by`: the last day on which it is in time: inspected, sent off, here, released. `checks`: what is to be passed at
    one visit to the bench. `depot`: where a piece is brought from, or on its way from; `lead_days`: how long that
    takes, None if no way is recorded. `due_here`: when a piece on its way was or is expected. `why`: why a piece is in
    quarantine. Of a move: by how many `days` (earlier: less than 0), the new window, and the pieces that it frees.
    """

    what: What
    tag: str
    by: date | None = None
    checks: tuple[str, ...] = ()
    depot: str = ""
    lead_days: int | None = None
    due_here: date | None = None
    why: str = ""
    days: int = 0
    load_on: date | None = None
    return_on: date | None = None
    frees: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sizing:
    """A range that a piece must cover, in mm: `least_mm` to `most_mm`, its kind's margin included; which main, if the
    sides differ, and by which diameter."""

    least_mm: Decimal
    most_mm: Decimal
    by: SizedBy = "inside"
    where: str = ""


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many of a kind to buy or borrow: what they must cover, their mark, and the day they must be fit through.

    `mark_of`: the assembly whose unit decides about the mark, where the job does not. `or_kinds`: what may stand in.
    """

    line: str
    kind: str
    quantity: int
    through: date
    sizes: tuple[Sizing, ...] = ()
    mark: str = ""
    mark_of: str = ""
    or_kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WayOut:
    """The fewest changes that fill a line or a job; `buy` is what even they do not bring.

    `enter`: what must be entered first, without which no piece can be matched. `instead`: what to ask for if all that
    is short is bought or borrowed. `proven`: no way has fewer changes.
    """

    changes: tuple[Change, ...] = ()
    buy: tuple[Purchase, ...] = ()
    enter: tuple[str, ...] = ()
    instead: tuple[Purchase, ...] = ()
    proven: bool = True

    @property
    def count(self) -> int:
        """How many changes, each piece bought being one."""
        return len(self.changes) + sum(each.quantity for each in self.buy)


@dataclass(frozen=True, slots=True)
class Refusal:
    """What would help a job that is short: by line, for all of it, and the soonest whole day (None: none known)."""

    lines: Mapping[str, WayOut]
    whole: WayOut
    soonest: date | None


@dataclass(frozen=True, slots=True)
class OtherJob:
    """Another job that holds pieces: `held` is what it is promised now. A job of which anything is or was issued, or
    that is not planned any more, does not move (`may_move`)."""

    need: Need
    held: tuple[Held, ...] = ()
    priority: int = 1
    may_move: bool = True


@dataclass(frozen=True, slots=True)
class Known:
    """What is known beside the pieces. Nothing known: a pass is taken to hold, no way is recorded, no job moves.

    `renewals`: (tag, check) -> day of a pass -> when the check would be due next; None where nobody can say.
    `link_days`: (from, to) -> days a transfer takes. `priority`: that of the job itself, above which no other is moved,
    and none by more than `most_days`.
    """

    renewals: Mapping[tuple[str, str], Mapping[date, date]] | None = None
    link_days: Mapping[tuple[str, str], int] = field(default_factory=dict)
    jobs: tuple[OtherJob, ...] = ()
    priority: int = 1
    most_days: int = MOST_DAYS_MOVED


def last_day(need: Need, as_of: date) -> date:
    """The last day for what must be done before loading; for a job that should have loaded by now, today."""
    return max(need.load_on - timedelta(days=1), as_of)
