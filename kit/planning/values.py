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

__all__ = ["NO_LIMIT", "Candidate", "Gate", "Held", "Line", "Need", "Promise", "Reason"]

GateStatus = Literal["dated", "never", "failed"]
State = Literal["available", "quarantined", "withdrawn", "lost"]
Custody = Literal["store", "on-site", "in-transit"]
Match = Literal["any", "bore", "mark", "bore+mark"]


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

    @property
    def fit_until(self) -> date | None:
        """The last day on which the item is in date; NO_LIMIT if no date limits it, None if it is not fit."""
        return judge_fitness(self.use_by, self.gates).fit_until


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an arrangement: so many pieces of a kind, matched by bore, mark, both or neither.

    Margin and turn-round are settings of the kind, in days: they are the same on all lines of one kind.
    """

    name: str
    kind: str
    quantity: int
    match: Match = "any"
    counted: bool = False
    margin_days: int = 0
    turn_round_days: int = 0


@dataclass(frozen=True, slots=True)
class Need:
    """What a job needs: its window, the main it works on, and the lines of its arrangement in order."""

    job: str
    depot: str
    load_on: date
    return_on: date
    bore_mm: Decimal | None = None
    base_mark: str = ""
    lines: tuple[Line, ...] = ()


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
