"""How long it takes to rearrange a season, as it grows, and what it is worth beside two rules of thumb.

    python -m tests.bench.rearrange            50, 100, 200 and 400 jobs over 12 weeks, ten pieces a job
    python -m tests.bench.rearrange 200 1600   one season of so many jobs and pieces

Every season runs in a process of its own, whose greatest memory is told. The rules of thumb start from an empty
board, as a depot would that plans afresh: their changes are the present promises that they do not happen to keep.
"""

from __future__ import annotations

import resource
import sys
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import timedelta
from multiprocessing import get_context
from time import perf_counter, process_time

from kit.planning.matching import Offer, cost_of, match_lines
from kit.planning.rearranging import Season, rearrange
from kit.planning.reasons import is_fit
from kit.planning.values import Candidate, Line
from kit.processors import limits_here
from tests.bench.season import make_season

SIZES = ((50, 500), (100, 1000), (200, 2000), (400, 4000))


@dataclass(frozen=True, slots=True)
class Count:
    """What became of a season under one way of planning."""

    whole: int
    pieces_short: int
    changes: int


class Board:
    """Who has what on which days, filled job by job by a rule of thumb."""

    def __init__(self, season: Season) -> None:
        self.season = season
        self.taken: dict[str, list[tuple[int, int]]] = defaultdict(list)
        self.left = {piece.tag: piece.quantity for piece in season.candidates}
        self.by_kind: dict[tuple[str, str], list[Candidate]] = defaultdict(list)
        for piece in season.candidates:
            self.by_kind[piece.kind, piece.depot].append(piece)

    def free(self, place: int, line: Line) -> list[Candidate]:
        """Pieces that may go on a line and that no job before has in those days."""
        need = self.season.jobs[place].need
        first, last = need.load_on.toordinal(), self._until(place, line)
        return [
            piece
            for piece in self.by_kind[line.kind, need.depot]
            if (self.left[piece.tag] > 0 if line.counted else self._open(piece, first, last))
            and is_fit(piece, line, need, self.season.as_of)
        ]

    def _open(self, piece: Candidate, first: int, last: int) -> bool:
        return all(ends < first or last < starts for starts, ends in self.taken[piece.tag])

    def _until(self, place: int, line: Line) -> int:
        return (self.season.jobs[place].need.return_on + timedelta(days=line.turn_round_days)).toordinal()

    def take(self, place: int, line: Line, got: dict[str, int]) -> None:
        for tag, quantity in got.items():
            self.left[tag] -= quantity
            if not line.counted:
                self.taken[tag].append(
                    (self.season.jobs[place].need.load_on.toordinal(), self._until(place, line))
                )


def first_come(season: Season) -> Count:
    """Jobs in the order of loading day and reference, each taking its best kit of what those before have left."""
    board = Board(season)
    got: list[dict[str, dict[str, int]]] = []
    for place, movable in enumerate(season.jobs):
        need = movable.need
        mine: dict[str, dict[str, int]] = {}
        for kind in dict.fromkeys(line.kind for line in need.lines):
            lines = [line for line in need.lines if line.kind == kind]
            fits: dict[str, set[int]] = defaultdict(set)
            pieces: dict[str, Candidate] = {}
            for number, line in enumerate(lines):
                for piece in board.free(place, line):
                    fits[piece.tag].add(number)
                    pieces[piece.tag] = piece
            offers = [
                Offer(
                    tag,
                    frozenset(on),
                    cost_of(pieces[tag], need.return_on),
                    board.left[tag] if lines[0].counted else 1,
                )
                for tag, on in fits.items()
            ]
            for line, chosen in zip(
                lines, match_lines([line.quantity for line in lines], offers), strict=True
            ):
                mine[line.name] = chosen
                board.take(place, line, chosen)
        got.append(mine)
    return _counted(season, got)


def earliest_expiry(season: Season) -> Count:
    """The same order of jobs, line by line, each line taking what falls due first."""
    board = Board(season)
    got: list[dict[str, dict[str, int]]] = []
    for place, movable in enumerate(season.jobs):
        mine: dict[str, dict[str, int]] = {}
        for line in movable.need.lines:
            chosen: dict[str, int] = {}
            for piece in sorted(board.free(place, line), key=lambda p: (p.fit_until, p.tag)):
                if (missing := line.quantity - sum(chosen.values())) > 0:
                    chosen[piece.tag] = min(missing, board.left[piece.tag]) if line.counted else 1
            mine[line.name] = chosen
            board.take(place, line, chosen)
        got.append(mine)
    return _counted(season, got)


def _counted(season: Season, got: list[dict[str, dict[str, int]]]) -> Count:
    short = [
        sum(line.quantity - sum(mine[line.name].values()) for line in movable.need.lines)
        for movable, mine in zip(season.jobs, got, strict=True)
    ]
    changes = sum(
        max(held.quantity - mine[held.line].get(held.tag, 0), 0)
        for movable, mine in zip(season.jobs, got, strict=True)
        for held in movable.promised
    )
    return Count(sum(lacking == 0 for lacking in short), sum(short), changes)


def measure(jobs: int, items: int) -> str:
    """One row of the table."""
    season = make_season(jobs, items)
    began, worked = perf_counter(), process_time()
    plan = rearrange(season, limits_here())
    took, of_it = perf_counter() - began, process_time() - worked
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    ours = Count(len(plan.jobs) - plan.jobs_short, plan.pieces_short, plan.changes)
    cells = [f"{jobs} / {items}", f"{took:.1f} s ({of_it:.1f} s)", f"{memory:.0f} MB", f"{plan.parts}"]
    cells.append("proven" if plan.proven else f"gap {plan.gap:.2%}")
    for count in (ours, first_come(season), earliest_expiry(season)):
        cells.append(f"{count.whole} / {count.pieces_short} / {count.changes}")
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    sizes = [(int(sys.argv[1]), int(sys.argv[2]))] if len(sys.argv) == 3 else SIZES
    print(
        "| jobs / pieces | time (processor) | memory | parts | | rearranged | first come | earliest expiry |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for jobs, items in sizes:
        with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
            print(pool.submit(measure, jobs, items).result(), flush=True)
    print("\nThe last three: jobs whole / pieces short / promises changed.")


if __name__ == "__main__":
    main()
