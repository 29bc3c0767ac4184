"""What of a plan can be promised at once, where the plan counts on works that are still to be done.

A piece that waits for a check or a transfer is not promised: it is not fit, or not here. And no job lets go what it
holds for a piece that only may come one day: a line that waits keeps what it is promised now, with the whole of its
assembly and of the sets on it, and whoever was to have that waits as well. Once the works are done, the plan is made
anew and the rest of it falls into place.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace

from kit.planning.rearranging.plan import JobPlan, Plan
from kit.planning.rearranging.season import MovableJob, Season
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
    """For each job of the plan, in its order, what can be done now.

    Held back as well is what would be let go for nothing till the works are done: a piece that nobody takes at once
    and no other comes for, and what a whole job would lose where that makes no other whole yet.
    """
    sets = {piece.tag: (piece.depot, piece.set_name) for piece in season.candidates if piece.set_name}
    waiting = [{tag for line in job.lines for tag in line.after} for job in plan.jobs]
    promised = {job.need.job: job for job in season.jobs}
    units = [_units(job, sets) for job in plan.jobs]
    kept: set[str] = set()
    held_back: set[tuple[int, str]] = set()

    while True:
        late = [waits | kept for waits in waiting]
        found = {
            (place, unit)
            for place, job in enumerate(plan.jobs)
            for unit in _of_what_is_late(job, units[place], late[place], sets)
        } - held_back
        if not found:
            now = [
                _of_job(job, units[place], {u for p, u in held_back if p == place}, late[place])
                for place, job in enumerate(plan.jobs)
            ]
            found = _let_go_for_nothing(now, units)
            found |= _lost_to_no_gain(now, units, [promised[job.need.job] for job in plan.jobs])
        if not found:
            return tuple(now)
        held_back |= found
        kept.update(
            held.tag
            for place, job in enumerate(plan.jobs)
            for held in job.leaves
            if (place, units[place][held.line]) in found
        )


def _of_what_is_late(
    job: JobPlan, units: Mapping[str, str], late: Set[str], sets: Mapping[str, tuple[str, str]]
) -> set[str]:
    """The units that would give something up for a piece that comes later, or to which part of a set comes later."""
    of_late = {units[held.line]: False for held in job.comes if held.tag in late}
    for held in job.comes:
        if held.tag in late and held.tag in sets:
            of_late[units[held.line]] = True
    for held in job.leaves:
        if units[held.line] in of_late:
            of_late[units[held.line]] = True
    return {unit for unit, binds in of_late.items() if binds}


def _let_go_for_nothing(now: Sequence[AtOnce], units: Sequence[Mapping[str, str]]) -> set[tuple[int, str]]:
    """Units (place of the job, name) that lose pieces which nobody takes at once."""
    taken = {held.tag for each in now for held in each.comes}
    found = set()
    for place, each in enumerate(now):
        loses: Counter[str] = Counter()
        for held in each.leaves:
            loses[units[place][held.line]] += held.quantity
        for held in each.comes:
            loses[units[place][held.line]] -= held.quantity
        gone = {units[place][held.line] for held in each.leaves if held.tag in taken}
        found |= {(place, unit) for unit, number in loses.items() if number > 0 and unit not in gone}
    return found


def _lost_to_no_gain(
    now: Sequence[AtOnce], units: Sequence[Mapping[str, str]], before: Sequence[MovableJob]
) -> set[tuple[int, str]]:
    """What the jobs that are whole today would lose, where at once they weigh more than those that turn whole."""
    lost: list[int] = []
    balance = 0
    for place, (each, was) in enumerate(zip(now, before, strict=True)):
        today, then = _is_whole(each, was.promised), _is_whole(each, _held_then(each, was))
        balance += was.priority * (then - today)
        if today and not then:
            lost.append(place)
    if balance >= 0:
        return set()
    return {(place, units[place][held.line]) for place in lost for held in now[place].leaves}


def _held_then(each: AtOnce, was: MovableJob) -> list[Held]:
    gone = [replace(held, quantity=-held.quantity) for held in each.leaves]
    return [*was.promised, *gone, *each.comes]


def _is_whole(each: AtOnce, held: Sequence[Held]) -> bool:
    count: Counter[str] = Counter()
    for one in held:
        count[one.line] += one.quantity
    return all(count[planned.line.name] >= planned.line.quantity for planned in each.job.lines)


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
