"""Which other jobs could load on other days, and what a piece's promises would be then.

The rule: a job may be moved if nothing of it is or was issued, if it does not come before this one in priority, if it
would load today or later, and if every piece that it holds now and that is fit for it would be so on the new days as
well, with all other promises as they stand: it stays as full as it was. Two jobs are not both moved where they would
then hold one piece on the same day.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kit.planning.reasons import is_fit
from kit.planning.refusal.changes import Known, OtherJob
from kit.planning.sets import as_kind
from kit.planning.values import Candidate, Held, Need, Promise


@dataclass(frozen=True, slots=True, order=True)
class Move:
    """A job moved by so many days. Of two moves the one by fewer days comes first, then the later."""

    job: str
    far: int
    earlier: bool

    @property
    def days(self) -> int:
        return -self.far if self.earlier else self.far

    @property
    def key(self) -> str:
        return f"5 {self.job}\t{self.far:05}{'-' if self.earlier else '+'}"


def shifted(promise: Promise, days: int) -> Promise:
    """The promise of a job that is moved by so many days."""
    by = timedelta(days=days)
    return replace(promise, starts=promise.starts + by, ends=promise.ends + by)


class Moves:
    """The moves of other jobs that leave each of them as full as it is, found when asked for."""

    def __init__(self, need: Need, as_of: date, register: Mapping[str, Candidate], known: Known) -> None:
        self.as_of, self.register = as_of, register
        self.jobs = {
            job.need.job: job
            for job in known.jobs
            if job.may_move and job.priority <= known.priority and job.need.job != need.job
        }
        self.most_days = known.most_days
        self.found: dict[str, tuple[Move, ...]] = {}

    def of(self, job: str) -> tuple[Move, ...]:
        """The moves of a job that may be made, fewest days first."""
        if job not in self.found:
            other = self.jobs.get(job)
            self.found[job] = () if other is None else tuple(self._of(other))
        return self.found[job]

    def window(self, move: Move) -> tuple[date, date]:
        """The loading and return days of the job once it is moved."""
        need = self.jobs[move.job].need
        by = timedelta(days=move.days)
        return need.load_on + by, need.return_on + by

    def collide(self, one: Move, other: Move) -> bool:
        """Whether two moved jobs would hold one piece on the same day."""
        theirs = {held.tag for held in self.jobs[other.job].held}
        for held in self.jobs[one.job].held:
            piece = self.register.get(held.tag)
            if piece is None or held.tag not in theirs:
                continue
            mine = [shifted(p, one.days) for p in piece.promises if p.job == one.job]
            others = [shifted(p, other.days) for p in piece.promises if p.job == other.job]
            if any(a.starts <= b.ends and b.starts <= a.ends for a in mine for b in others):
                return True
        return False

    def _of(self, job: OtherJob) -> Iterator[Move]:
        if any(held.tag not in self.register for held in job.held):
            return  # What it holds is not known here, so nobody can say that it would keep it.
        holds = [held for held in job.held if self._fit(job, held, 0)]
        for far in range(1, self.most_days + 1):
            for earlier in (False, True):
                days = -far if earlier else far
                if job.need.load_on + timedelta(days=days) >= self.as_of and all(
                    self._fit(job, held, days) for held in holds
                ):
                    yield Move(job.need.job, far, earlier)

    def _fit(self, job: OtherJob, held: Held, days: int) -> bool:
        piece = self.register[held.tag]
        line = next((line for line in job.need.lines if line.name == held.line), None)
        seen = None if line is None else as_kind(line, piece.kind)
        if seen is None:
            return False
        if seen.counted:
            # Of a lot its part is put by for the job: what others are promised of it does not matter.
            piece = replace(piece, quantity=1)
        by = timedelta(days=days)
        moved = replace(job.need, load_on=job.need.load_on + by, return_on=job.need.return_on + by)
        return is_fit(piece, seen, moved, self.as_of)
