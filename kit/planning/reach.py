"""How far the pieces of a job reach: until which return each of them holds, and what ends it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from kit.planning.fitness import NO_LIMIT


@dataclass(frozen=True, slots=True)
class Held:
    """A piece that a job holds: fit until when (None: not at all), the slack its kind asks for, its next promise."""

    tag: str
    line: str
    fit_until: date | None
    margin_days: int = 0
    turn_round_days: int = 0
    next_job: str = ""
    next_starts: date | None = None


@dataclass(frozen=True, slots=True)
class Reach:
    """`until`: the latest return for which the piece holds; NO_LIMIT if nothing ends it, None if it holds for none.

    `by_job`: the job to which it is promised next, where that ends it and not one of its dates.
    """

    tag: str
    line: str
    until: date | None
    by_job: str = ""


def reach_of(piece: Held) -> Reach:
    if piece.fit_until is None:
        return Reach(piece.tag, piece.line, None)
    until = piece.fit_until
    if until != NO_LIMIT:
        until -= timedelta(days=piece.margin_days)
    if piece.next_starts is not None:
        # Both ends of a window belong to it, and the days of turn-round follow the return.
        free = piece.next_starts - timedelta(days=1 + piece.turn_round_days)
        if free < until:
            return Reach(piece.tag, piece.line, free, piece.next_job)
    return Reach(piece.tag, piece.line, until)


def reaches(pieces: Iterable[Held]) -> list[Reach]:
    """Of each piece, what gives out first on top."""
    found = [reach_of(piece) for piece in pieces]
    return sorted(found, key=lambda reach: (reach.until or date.min, reach.tag))
