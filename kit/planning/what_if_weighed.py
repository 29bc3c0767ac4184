"""What a plan comes to: jobs whole, pieces short, changes, and the stops that are left over each day."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kit.planning.as_slots import lot_kinds
from kit.planning.mains import Main
from kit.planning.readiness import Day, ready
from kit.planning.readiness_stock import stock_of
from kit.planning.rearranging.season import Season
from kit.planning.values import Candidate, Held, Line, Need, Promise

Placed = Mapping[str, Sequence[Held]]
"""By job, what lies on its lines."""


@dataclass(frozen=True, slots=True)
class JobWeighed:
    """A job and how many pieces each of its lines is short, in the arrangement's order; lines not short left out."""

    job: str
    depot: str
    load_on: date
    return_on: date
    short: tuple[tuple[str, int], ...]

    @property
    def pieces_short(self) -> int:
        return sum(number for _line, number in self.short)


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the jobs of a season come to with what is placed on them, `changes` of it given up or put elsewhere."""

    jobs: tuple[JobWeighed, ...]
    stops: tuple[Day, ...]

    @property
    def whole(self) -> int:
        return sum(1 for job in self.jobs if not job.short)

    @property
    def jobs_short(self) -> int:
        return len(self.jobs) - self.whole

    @property
    def pieces_short(self) -> int:
        return sum(job.pieces_short for job in self.jobs)


def weigh(
    season: Season, placed: Placed, lines: Sequence[Line], main: Main, first: date, days: int
) -> Weighed:
    """The season with what is placed on its jobs, and the stops of another arrangement that are left beside them."""
    stock = stock_of(left_over(season, placed), lines, main, season.as_of, first)
    return Weighed(jobs_with(season, placed), tuple(ready(lines, stock, first, days)))


def jobs_with(season: Season, placed: Placed) -> tuple[JobWeighed, ...]:
    """The jobs of a season with what is placed on them."""
    return tuple(_job(job.need, placed.get(job.need.job, ())) for job in season.jobs)


def _job(need: Need, placed: Sequence[Held]) -> JobWeighed:
    on_line = Counter[str]()
    for held in placed:
        on_line[held.line] += held.quantity
    short = tuple(
        (line.name, line.quantity - on_line[line.name])
        for line in need.lines
        if on_line[line.name] < line.quantity
    )
    return JobWeighed(need.job, need.depot, need.load_on, need.return_on, short)


def left_over(season: Season, placed: Placed) -> list[Candidate]:
    """The pieces of a season with the promises that what is placed amounts to; lots less what is placed of them."""
    turn_round = {
        kind: days
        for job in season.jobs
        for line in job.need.lines
        for kind, days in (
            (line.kind, line.turn_round_days),
            *((other.kind, other.turn_round_days) for other in line.substitutes),
        )
    }
    promises: dict[str, list[Promise]] = defaultdict(list)
    taken: Counter[str] = Counter()
    lots = lot_kinds(line for job in season.jobs for line in job.need.lines)
    kinds = {piece.tag: piece.kind for piece in season.candidates}
    for job in season.jobs:
        need = job.need
        for held in placed.get(need.job, ()):
            if kinds[held.tag] in lots:
                taken[held.tag] += held.quantity
            else:
                ends = need.return_on + timedelta(days=turn_round.get(kinds[held.tag], 0))
                promises[held.tag].append(Promise(need.job, need.load_on, ends))
    return [
        replace(
            piece,
            promises=(*piece.promises, *promises[piece.tag]),
            quantity=max(piece.quantity - taken[piece.tag], 0) if taken[piece.tag] else piece.quantity,
        )
        for piece in season.candidates
    ]
