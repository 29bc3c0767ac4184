"""A season as it would be with the changes of a trial plan."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import singledispatchmethod

from kit.planning.rearranging.season import MovableJob, Season
from kit.planning.values import Candidate, Line, Need, SizedBy
from kit.planning.what_if import (
    AddJob,
    Buy,
    CancelJob,
    Change,
    CloseBench,
    MoveJob,
    SetBench,
    TransferPiece,
    WithdrawPiece,
)


@dataclass(frozen=True, slots=True)
class KindKnown:
    """What has to be known of a kind to buy a piece of it."""

    counted: bool = False
    bore_margin_mm: Decimal = Decimal(0)
    sized_by: SizedBy = "inside"


@dataclass(frozen=True, slots=True)
class Known:
    """What a change may name besides jobs and pieces: depots, kinds, and the arrangements in force with their lines."""

    depots: frozenset[str] = frozenset()
    kinds: Mapping[str, KindKnown] = field(default_factory=dict)
    arrangements: Mapping[str, tuple[Line, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Trial:
    """The season with the changes made, and by the place of a change, why it could not be."""

    season: Season
    not_made: Mapping[int, str]


def with_changes(season: Season, changes: Sequence[Change], known: Known) -> Trial:
    """Make the changes one after the other. One that does not apply (any more) is left out and told of."""
    making = _Making(season, known)
    not_made = {}
    for place, change in enumerate(changes):
        try:
            making.make(change, place)
        except _CannotBe as why:
            not_made[place] = str(why)
    return Trial(making.season(), not_made)


class _CannotBe(Exception):
    """A change that does not apply, and why, in a sentence."""


class _Making:
    """The parts of a season while changes are made to them."""

    def __init__(self, season: Season, known: Known) -> None:
        self.known, self._before = known, season
        self.jobs = {job.need.job: job for job in season.jobs}
        self.pieces = {piece.tag: piece for piece in season.candidates}
        self.bench = dict(season.bench_a_day)
        self.renewals = {key: dict(days) for key, days in season.renewals.items()}

    def season(self) -> Season:
        jobs = sorted(self.jobs.values(), key=lambda job: (job.need.load_on, job.need.job))
        return replace(
            self._before,
            jobs=tuple(jobs),
            candidates=tuple(self.pieces.values()),
            bench_a_day=self.bench,
            renewals={key: days for key, days in self.renewals.items() if days},
        )

    @singledispatchmethod
    def make(self, change: object, place: int) -> None:
        raise TypeError(f"{change!r} is no change")

    @make.register
    def _add_job(self, change: AddJob, place: int) -> None:
        self._depot(change.depot)
        if change.reference in self.jobs:
            raise _CannotBe(f"There is a job {change.reference} already; give this one another reference.")
        if change.arrangement not in self.known.arrangements:
            raise _CannotBe(f"There is no arrangement {change.arrangement} in force; choose another.")
        need = Need(
            job=change.reference,
            depot=change.depot,
            load_on=change.load_on,
            return_on=change.return_on,
            bore_mm=change.bore_mm,
            base_mark=change.base_mark,
            lines=self.known.arrangements[change.arrangement],
        )
        self.jobs[change.reference] = MovableJob(need, change.priority)

    @make.register
    def _move_job(self, change: MoveJob, place: int) -> None:
        job = self._job(change.job)
        need = replace(job.need, load_on=change.load_on, return_on=change.return_on)
        self.jobs[change.job] = replace(job, need=need)

    @make.register
    def _cancel_job(self, change: CancelJob, place: int) -> None:
        self._job(change.job)
        del self.jobs[change.job]

    @make.register
    def _buy(self, change: Buy, place: int) -> None:
        self._depot(change.depot)
        if change.kind not in self.known.kinds:
            raise _CannotBe(f"There is no kind {change.kind}; choose another.")
        kind = self.known.kinds[change.kind]
        bought = Candidate(
            tag="",
            kind=change.kind,
            depot=change.depot,
            use_by=change.use_by,
            bore_min_mm=change.bore_min_mm,
            bore_max_mm=change.bore_max_mm,
            mark=change.mark,
            bore_margin_mm=kind.bore_margin_mm,
            sized_by=kind.sized_by,
        )
        if change.comes_on >= self._before.as_of:
            # Like a piece that is sent here: it can load from the day after it comes.
            bought = replace(
                bought, custody="in-transit", transit_to=change.depot, arrives_on=change.comes_on
            )
        for number in range(1 if kind.counted else change.pieces):
            tag = f"{change.kind} bought {place + 1}.{number + 1}"
            quantity = change.pieces if kind.counted else 1
            self.pieces[tag] = replace(bought, tag=tag, quantity=quantity)

    @make.register
    def _withdraw(self, change: WithdrawPiece, place: int) -> None:
        piece = self._piece(change.tag)
        self.pieces[change.tag] = replace(piece, state="withdrawn", state_why="in this trial plan")

    @make.register
    def _transfer(self, change: TransferPiece, place: int) -> None:
        self._depot(change.to_depot)
        piece = self._piece(change.tag)
        if piece.custody != "store" or piece.state != "available":
            raise _CannotBe(f"{change.tag} is not in a store ready to be sent; choose another piece.")
        if piece.depot == change.to_depot:
            raise _CannotBe(f"{change.tag} is at {change.to_depot} already.")
        if change.arrives_on < self._before.as_of:
            raise _CannotBe(f"{change.tag} would have arrived on {change.arrives_on}, which is past.")
        self.pieces[change.tag] = replace(
            piece, custody="in-transit", transit_to=change.to_depot, arrives_on=change.arrives_on
        )

    @make.register
    def _close_bench(self, change: CloseBench, place: int) -> None:
        self._depot(change.depot)
        for (tag, check), days in self.renewals.items():
            if tag in self.pieces and self.pieces[tag].depot == change.depot:
                self.renewals[tag, check] = {
                    day: until for day, until in days.items() if not change.first <= day <= change.last
                }

    @make.register
    def _set_bench(self, change: SetBench, place: int) -> None:
        self._depot(change.depot)
        self.bench[change.depot] = change.a_day

    def _depot(self, code: str) -> None:
        if code not in self.known.depots:
            raise _CannotBe(f"There is no depot {code}; choose another.")

    def _job(self, reference: str) -> MovableJob:
        if reference not in self.jobs:
            raise _CannotBe(
                f"{reference} is no planned job of which nothing is out: only such a job can be moved or cancelled."
            )
        return self.jobs[reference]

    def _piece(self, tag: str) -> Candidate:
        if tag not in self.pieces:
            raise _CannotBe(f"There is no piece {tag} that these jobs could use; read its tag again.")
        return self.pieces[tag]
