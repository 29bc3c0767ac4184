"""The values that planning works with: items, lines and jobs, as far as it matters who gets what.

Nothing here knows a database, a clock or a file. Dates are calendar days; a window includes both its ends.
Bores are in millimetres as Decimal, so that a limit printed as 165.2 compares exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

from kit.planning.fitness import NO_LIMIT, judge_fitness
from kit.planning.mains import Main, SizedBy

__all__ = [
    "NO_LIMIT",
    "Candidate",
    "Gate",
    "Held",
    "Line",
    "Need",
    "Promise",
    "Reason",
    "SizedBy",
    "Substitute",
]

GateStatus = Literal["dated", "never", "failed"]
State = Literal["available", "quarantined", "withdrawn", "lost"]
Custody = Literal["store", "on-site", "in-transit"]
Match = Literal["any", "bore", "mark", "bore+mark"]
Side = Literal["every", "near", "far"]


@dataclass(frozen=True, slots=True)
class Gate:
    """One check that decides whether an item may go out.

    A check called for by a use, a repair or a person is "dated", due on that day, and `note` says so: the item
    waits for it and is not fit meanwhile, not even on that very day.
    A check whose latest verdict is a doubt is "failed": a piece in doubt does not go out.
    `conceded_from`: the due date without the concession, where one keeps the check in date until `due_on`.
    """

    check: str
    status: GateStatus
    due_on: date | None = None
    last_done: date | None = None
    note: str = ""
    conceded_from: date | None = None

    @property
    def waits(self) -> bool:
        """Whether the check has been called for and has not been done since."""
        return self.status == "dated" and bool(self.note)


@dataclass(frozen=True, slots=True)
class Promise:
    """An item promised or issued to a job. `ends` includes the turn-round days; both ends belong to it."""

    job: str
    starts: date
    ends: date
    issued: bool = False


@dataclass(frozen=True, slots=True)
class Candidate:
    """An item of the register as planning sees it; for a counted kind, one lot.

    `quantity` is what is free of a lot: on hand less what is promised to other jobs; 1 for a tagged item.
    `transit_to` and `arrives_on` are set while the item travels to another depot.
    Pieces of one depot with the same `set_name` go out together or not at all. `bore_margin_mm` and `sized_by` are
    settings of the kind: by how much the range must reach beyond the main, and by which of its diameters.
    """

    tag: str
    kind: str
    depot: str
    state: State = "available"
    custody: Custody = "store"
    use_by: date | None = None
    gates: tuple[Gate, ...] = ()
    bore_min_mm: Decimal | None = None
    bore_max_mm: Decimal | None = None
    mark: str = ""
    promises: tuple[Promise, ...] = ()
    quantity: int = 1
    transit_to: str = ""
    arrives_on: date | None = None
    state_why: str = ""
    set_name: str = ""
    bore_margin_mm: Decimal = Decimal(0)
    sized_by: SizedBy = "inside"

    @property
    def fit_until(self) -> date | None:
        """The last day on which the item is in date; NO_LIMIT if no date limits it, None if it is not fit."""
        return judge_fitness(self.use_by, self.gates).fit_until


@dataclass(frozen=True, slots=True)
class Substitute:
    """Another kind that may fill a line where the line's own does not; of two, the lower `rank` is taken first.

    Margin and turn-round are settings of that kind, in days.
    """

    kind: str
    rank: int = 1
    margin_days: int = 0
    turn_round_days: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an arrangement: so many pieces of a kind, matched by bore, mark, both or neither.

    Margin and turn-round are settings of the kind, in days: they are the same on all lines of one kind.
    `side`: which main a bore is matched with, where the two sides of a job differ; "every": both.
    Lines of one `assembly` are made up into units of which all pieces share a mark.
    """

    name: str
    kind: str
    quantity: int
    match: Match = "any"
    counted: bool = False
    margin_days: int = 0
    turn_round_days: int = 0
    side: Side = "every"
    assembly: str = ""
    substitutes: tuple[Substitute, ...] = ()


@dataclass(frozen=True, slots=True)
class Need:
    """What a job needs: its window, the main it works on, and the lines of its arrangement in order.

    `bore_mm` is the bore of the main on the near side. `near` is that main with its ovality and outside diameter,
    where more is known of it than the bore; `far` is the one on the far side, None where it is as the near one.
    """

    job: str
    depot: str
    load_on: date
    return_on: date
    bore_mm: Decimal | None = None
    base_mark: str = ""
    lines: tuple[Line, ...] = ()
    near: Main | None = None
    far: Main | None = None


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason why an item cannot fill a line: its code, the day it turns on, and a sentence."""

    code: str
    date: date | None
    text: str


@dataclass(frozen=True, slots=True)
class Held:
    """What the job's own live reservations hold already for a line: an item, or so many of a lot."""

    line: str
    tag: str
    quantity: int = 1
