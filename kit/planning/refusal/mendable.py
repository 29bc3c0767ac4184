"""What it takes for a piece to go on a line: nothing, some changes, or what nobody can do in time.

A check is passed on the last day before loading on which the piece is at hand, and must then hold until the return with
its margin; what was failed or left in doubt is not counted on, nor what is withdrawn, lost, past its use-by or out on
a site. A piece of another depot is sent so that it is there the day before loading; it must be promised to nobody from
that day on, and a set is brought only where all of it stands in that depot. A promised piece is freed by moving its
job.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from kit.planning.reasons import reasons_for
from kit.planning.refusal.changes import Change, Known, last_day
from kit.planning.refusal.moving import Move, Moves, shifted
from kit.planning.values import Candidate, Gate, Line, Need, Promise

MENDABLE = frozenset(
    {
        "check-due-before-return",
        "never-checked",
        "quarantined",
        "in-transit",
        "promised-elsewhere",
        "other-depot",
    }
)
RANKS = {"inspect": 0, "bring": 1, "bring, way unknown": 2, "hurry": 3, "release": 4, "move": 5}
"""How well each sort of change is liked: the lower, the better."""


@dataclass(frozen=True, slots=True)
class Takes:
    """What a piece takes to go on a line. `works`: by key, changes that must all be made; `moves`: for each job that
    holds it, moves of which one must be made; `barred_by`: moves that would take it away again."""

    works: tuple[tuple[str, Change], ...] = ()
    moves: tuple[tuple[Move, ...], ...] = ()
    barred_by: tuple[Move, ...] = ()


@dataclass(frozen=True, slots=True)
class _Days:
    """When things can be done to a piece: it is at hand from `first`, and must be ready by `last`. A piece that is to
    be brought leaves by `leave`."""

    first: date
    last: date
    leave: date | None


class Mending:
    """Says what pieces take, for one job as the register stands."""

    def __init__(self, need: Need, as_of: date, known: Known, moves: Moves, parted: Collection[str]) -> None:
        """`parted`: names of sets of which not all stands in one depot."""
        self.need, self.as_of, self.known = need, as_of, known
        self.moves, self.parted = moves, parted

    def takes(self, piece: Candidate, line: Line) -> Takes | None:
        """What the piece takes to go on the line, `line` as its kind sees it; None if nothing would let it go."""
        reasons = reasons_for(piece, line, self.need, self.as_of)
        codes = {reason.code for reason in reasons}
        if not codes <= MENDABLE or (line.counted and "promised-elsewhere" in codes):
            return None
        days = self._days(piece, codes)
        if days is None:
            return None
        until = self.need.return_on + timedelta(days=line.margin_days)
        due = [gate for gate in piece.gates if _needs_pass(gate, until)]
        tested = self._tested_by(piece, due, until, days)
        if due and tested is None:
            return None
        works = list(self._works(piece, codes, days, due, tested))
        if line.counted:
            return Takes(tuple(works))
        ready = _Days(days.first, tested or days.last, days.leave) if due or days.leave else None
        return self._with_moves(piece, line, tuple(works), ready)

    def _days(self, piece: Candidate, codes: Collection[str]) -> _Days | None:
        """When the piece is at hand, but for what it is promised to; None if it cannot be here in time."""
        need = self.need
        last = last_day(need, self.as_of)
        first = self.as_of
        if piece.custody == "in-transit":
            if piece.transit_to != need.depot:
                return None
            if "in-transit" in codes:
                # It can only be hurried to the day before loading, so that day is the first on which it is at hand.
                return _Days(last, last, None) if last < need.load_on else None
            first = max(first, piece.arrives_on or first)
        leave = None
        if "other-depot" in codes and piece.custody != "in-transit":
            if piece.set_name and piece.set_name in self.parted:
                return None
            lead = self.known.link_days.get((piece.depot, need.depot))
            leave = need.load_on - timedelta(days=1 + (lead or 0))
            if leave < first:
                return None
        return _Days(first, last, leave)

    def _tested_by(self, piece: Candidate, due: Collection[Gate], until: date, days: _Days) -> date | None:
        """The last day on which a pass of all these checks would be in time and hold until then; None if there is none.

        A piece that is brought is looked at before it leaves if that holds, else after it has come.
        """
        for day in (days.leave, days.last):
            if day is not None and day >= days.first and all(self._holds(piece, g, day, until) for g in due):
                return day
        return None

    def _holds(self, piece: Candidate, gate: Gate, day: date, until: date) -> bool:
        if self.known.renewals is None:
            return True
        next_due = self.known.renewals.get((piece.tag, gate.check), {}).get(day)
        return next_due is not None and next_due >= until

    def _works(
        self,
        piece: Candidate,
        codes: Collection[str],
        days: _Days,
        due: Collection[Gate],
        tested: date | None,
    ) -> Iterator[tuple[str, Change]]:
        if due:
            checks = tuple(sorted(gate.check for gate in due))
            yield _keyed("inspect", Change("inspect", piece.tag, tested, checks))
        if days.leave is not None:
            lead = self.known.link_days.get((piece.depot, self.need.depot))
            sort = "bring" if lead is not None else "bring, way unknown"
            yield _keyed(sort, Change("bring", piece.tag, days.leave, depot=piece.depot, lead_days=lead))
        if "in-transit" in codes:
            from_depot = "" if piece.depot == self.need.depot else piece.depot
            change = Change("hurry", piece.tag, days.last, depot=from_depot, due_here=piece.arrives_on)
            yield _keyed("hurry", change)
        if "quarantined" in codes:
            by = min(day for day in (days.leave, tested, days.last) if day is not None)
            yield _keyed("release", Change("release", piece.tag, by, why=piece.state_why))

    def _with_moves(
        self,
        piece: Candidate,
        line: Line,
        works: tuple[tuple[str, Change], ...],
        ready: _Days | None,
    ) -> Takes | None:
        """The same with what the jobs that hold the piece must do, and must not do. `ready`: it must be at hand before
        loading as well, to be tested or sent."""
        of_job: dict[str, list[Promise]] = {}
        for promise in piece.promises:
            if promise.job != self.need.job:
                of_job.setdefault(promise.job, []).append(promise)
        groups: list[tuple[Move, ...]] = []
        barred: list[Move] = []
        for job, promises in sorted(of_job.items()):
            moves = self.moves.of(job)
            frees = [
                move
                for move in moves
                if self._leaves_free([shifted(p, move.days) for p in promises], line, ready)
            ]
            if self._leaves_free(promises, line, ready):
                barred.extend(move for move in moves if move not in frees)
            elif frees:
                groups.append(tuple(frees))
            else:
                return None
        return Takes(works, tuple(groups), tuple(barred))

    def _leaves_free(self, promises: Iterable[Promise], line: Line, ready: _Days | None) -> bool:
        """Whether promises leave the piece to the job on its days, and at hand in time for what must be done to it."""
        ends = self.need.return_on + timedelta(days=line.turn_round_days)
        for promise in promises:
            if promise.starts <= ends and promise.ends >= self.need.load_on:
                return False
            if ready is None:
                continue
            if ready.leave is not None and promise.ends >= ready.leave:
                return False
            if promise.ends < self.need.load_on and promise.ends >= ready.last:
                return False
        return True


def _needs_pass(gate: Gate, until: date) -> bool:
    return gate.status == "never" or gate.waits or gate.due_on is None or gate.due_on < until


def _keyed(sort: str, change: Change) -> tuple[str, Change]:
    return f"{RANKS[sort]} {change.tag}", change


def moves_in(taken: Iterable[Takes]) -> set[Move]:
    """All moves that might free a piece."""
    return {move for takes in taken for group in takes.moves for move in group}
