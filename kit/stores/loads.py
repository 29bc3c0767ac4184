"""How far the load of each job is promised, out, broken or missing, line by line. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from kit.models import ArrangementLine, Job, Reservation, Standing


@dataclass(frozen=True, slots=True)
class LoadLine:
    """One line: how many are needed, promised, gone out (back ones too) and broken; it never counts for more than it
    needs.
    """

    line: str
    kind: str
    needed: int
    promised: int
    gone: int
    broken: int

    @property
    def missing(self) -> int:
        return self.needed - self.promised - self.gone


@dataclass(frozen=True, slots=True)
class Load:
    """All lines of one job. `turn_round_days`: the most that one of its kinds wants before the next job."""

    lines: tuple[LoadLine, ...]
    turn_round_days: int = 0

    @property
    def needed(self) -> int:
        return sum(line.needed for line in self.lines)

    @property
    def promised(self) -> int:
        return sum(line.promised for line in self.lines)

    @property
    def gone(self) -> int:
        return sum(line.gone for line in self.lines)

    @property
    def broken(self) -> int:
        return sum(line.broken for line in self.lines)

    @property
    def missing(self) -> int:
        """What is neither promised nor out, broken promises with it."""
        return sum(line.missing for line in self.lines)

    def needed_by_kind(self) -> dict[str, int]:
        found: dict[str, int] = defaultdict(int)
        for line in self.lines:
            found[line.kind] += line.needed
        return dict(found)

    def missing_by_kind(self) -> dict[str, int]:
        found: dict[str, int] = defaultdict(int)
        for line in self.lines:
            if line.missing > 0:
                found[line.kind] += line.missing
        return dict(found)

    def held_by_kind(self) -> dict[str, int]:
        found: dict[str, int] = defaultdict(int)
        for line in self.lines:
            if line.promised + line.gone:
                found[line.kind] += line.promised + line.gone
        return dict(found)


def loads_of(jobs: Iterable[Job]) -> dict[int, Load]:
    """The load of each of these jobs, by its key."""
    listed = list(jobs)
    lines: dict[int, list[ArrangementLine]] = defaultdict(list)
    asked = ArrangementLine.objects.filter(arrangement__in={job.arrangement_id for job in listed})
    for line in asked.select_related("kind").order_by("position"):
        lines[line.arrangement_id].append(line)
    held: dict[tuple[int, int, str], int] = defaultdict(int)
    rows = Reservation.objects.filter(job__in=listed).exclude(standing=Standing.RELEASED)
    for job, on, standing, quantity in rows.values_list("job_id", "line_id", "standing", "quantity"):
        held[job, on, Standing.ISSUED if standing == Standing.RETURNED else standing] += quantity
    return {job.pk: _load(job, lines[job.arrangement_id], held) for job in listed}


def _load(job: Job, lines: Iterable[ArrangementLine], held: dict[tuple[int, int, str], int]) -> Load:
    found, longest = [], 0
    for line in lines:
        gone = min(held.get((job.pk, line.pk, Standing.ISSUED), 0), line.quantity)
        promised = min(held.get((job.pk, line.pk, Standing.PROMISED), 0), line.quantity - gone)
        broken = held.get((job.pk, line.pk, Standing.BROKEN), 0)
        found.append(LoadLine(line.name, line.kind.name, line.quantity, promised, gone, broken))
        longest = max(longest, line.kind.turn_round_days)
    return Load(tuple(found), longest)
