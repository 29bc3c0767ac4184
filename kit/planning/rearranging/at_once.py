"""What of a plan can be promised at once, where the plan counts on works that are still to be done.

A piece that waits for a check or a transfer is not promised: it is not fit, or not here. And no job lets go what it
holds for a piece that only may come one day: a line that waits keeps what it is promised now, with the whole of its
assembly and of the sets on it, and whoever was to have that waits as well. Once the works are done, the plan is made
anew and the rest of it falls into place.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from kit.planning.rearranging.plan import JobPlan, Plan
from kit.planning.rearranging.season import Season
from kit.planning.values import Held


@dataclass(frozen=True, slots=True)
class AtOnce:
    """What one job lets go and is promised now. `waits`: tags that come later; `stays`: what it keeps till then."""

    job: JobPlan
    leaves: tuple[Held, ...]
    comes: tuple[Held, ...]
    waits: tuple[str, ...]
    stays: tuple[Held, ...]


def at_once(season: Season, plan: Plan) -> tuple[AtOnce, ...]:
    """For each job of the plan, in its order, what can be done now."""
    sets = {piece.tag: (piece.depot, piece.set_name) for piece in season.candidates if piece.set_name}
    waiting: dict[int, set[str]] = {
        place: {tag for line in job.lines for tag in line.after} for place, job in enumerate(plan.jobs)
    }
    kept: set[str] = set()
    units = [_units(job, sets) for job in plan.jobs]
    held_back: set[tuple[int, str]] = set()
    changed = True
    while changed:
        changed = False
        for place, job in enumerate(plan.jobs):
            late = {held.line for held in job.comes if held.tag in waiting[place] | kept}
            for unit in {units[place][line] for line in late} - {u for p, u in held_back if p == place}:
                mine = {line for line, of in units[place].items() if of == unit}
                leaves = [held for held in job.leaves if held.line in mine]
                of_set = {
                    sets.get(h.tag) for h in job.comes if h.line in mine and h.tag in waiting[place] | kept
                }
                if leaves or of_set - {None}:
                    held_back.add((place, unit))
                    kept.update(held.tag for held in leaves)
                    changed = True
    return tuple(
        _of_job(job, units[place], {u for p, u in held_back if p == place}, waiting[place] | kept)
        for place, job in enumerate(plan.jobs)
    )


def _units(job: JobPlan, sets: Mapping[str, tuple[str, str]]) -> dict[str, str]:
    """Lines that change together or not at all, each named by the first of them: of an assembly, or of sets on them."""
    unit = {planned.line.name: planned.line.name for planned in job.lines}
    together: dict[object, list[str]] = defaultdict(list)
    for planned in job.lines:
        if planned.line.assembly:
            together["assembly", planned.line.assembly].append(planned.line.name)
    for held in (*job.leaves, *job.comes):
        if held.tag in sets:
            together[sets[held.tag]].append(held.line)
    for lines in together.values():
        names = {unit[line] for line in lines}
        for line, name in unit.items():
            if name in names:
                unit[line] = min(names)
    return unit


def _of_job(job: JobPlan, units: Mapping[str, str], held_back: set[str], late: set[str]) -> AtOnce:
    leaves: list[Held] = []
    stays: list[Held] = []
    comes: list[Held] = []
    waits: list[str] = []
    for held in job.leaves:
        (stays if units[held.line] in held_back else leaves).append(held)
    for held in job.comes:
        if units[held.line] in held_back or held.tag in late:
            waits.append(held.tag)
        else:
            comes.append(held)
    return AtOnce(job, tuple(leaves), tuple(comes), tuple(sorted(set(waits))), tuple(stays))
