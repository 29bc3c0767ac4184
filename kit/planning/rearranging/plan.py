"""The plan: what each job gets, what it gives up for it, and how far the whole is proven best."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from kit.planning.exact import USUAL, Limits, Solution, solve
from kit.planning.rearranging.asking import question
from kit.planning.rearranging.season import MovableJob, Season, WorkToDo
from kit.planning.rearranging.works import Worked, counts_on_works, worked
from kit.planning.values import Held, Line, Need


@dataclass(frozen=True, slots=True)
class LinePlan:
    """A line with its sorted `tags`, or `lots` as (lot, quantity) of a counted kind; `short` pieces are lacking.

    `after`: of the tags, those that can go only once a work of the plan is done.
    """

    line: Line
    tags: tuple[str, ...]
    lots: tuple[tuple[str, int], ...]
    short: int
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobPlan:
    """One job of the plan. `leaves` is what it is promised now and gives up, `comes` what it is not promised yet.

    `changed`: whether it gives up anything. Filling what is open changes nothing that was promised.
    """

    need: Need
    lines: tuple[LinePlan, ...]
    leaves: tuple[Held, ...]
    comes: tuple[Held, ...]

    @property
    def changed(self) -> bool:
        return bool(self.leaves)

    @property
    def short(self) -> int:
        """How many pieces it is short."""
        return sum(line.short for line in self.lines)


@dataclass(frozen=True, slots=True)
class Plan:
    """A proposal for a season. Nothing is promised by it.

    `proven`: no other plan is better (where it counts on works: no other that adds works to the best one without any,
    as `works.py` has it); `gap`: the share by which the first sum that is not proven could be less.
    `ties_settled` False: of plans that are as good in every sum this need not be the first in order.
    """

    jobs: tuple[JobPlan, ...]
    jobs_short: int
    pieces_short: int
    changes: int
    works: tuple[WorkToDo, ...]
    proven: bool
    gap: float
    ties_settled: bool
    parts: int


def rearrange(season: Season, limits: Limits = USUAL) -> Plan:
    """The best plan for a season: fewest jobs short by priority, fewest pieces short, fewest promises changed, fewest
    works, and then as for one job. It has been gone over by `check` before it is given.

    Raises PlanFault where that finds a fault, ValueError where the season contradicts itself.
    """
    from kit.planning.rearranging.check import check

    asked = question(season)
    plain = solve(asked, limits)
    plan = _plan(season, plain.placed, plain)
    if counts_on_works(season) and (plan.pieces_short or plan.changes):
        helped = worked(season, asked, plain)
        more = solve(helped.problem, limits)
        placed = [more.placed[slot] if slot in helped.slots else on for slot, on in enumerate(plain.placed)]
        plan = _plan(season, placed, plain, more, helped)
    check(season, plan)
    return plan


def _plan(
    season: Season,
    placed: Sequence[Mapping[str, int]],
    plain: Solution,
    more: Solution | None = None,
    helped: Worked | None = None,
) -> Plan:
    """The plan of these pieces by slot; `more` and `helped`: what works add to the `plain` one."""
    after = helped.options_after(placed) if helped is not None else frozenset()
    jobs = []
    first = 0
    for movable in season.jobs:
        count = len(movable.need.lines)
        jobs.append(_job_plan(movable, placed[first : first + count], first, after))
        first += count
    solutions = [plain] if more is None else [plain, more]
    named = helped.named if helped is not None else {}
    return Plan(
        jobs=tuple(jobs),
        jobs_short=sum(job.short > 0 for job in jobs),
        pieces_short=sum(job.short for job in jobs),
        changes=sum(held.quantity for job in jobs for held in job.leaves),
        works=tuple(sorted((named[key] for key in solutions[-1].works), key=_order)),
        proven=all(solution.proven for solution in solutions),
        gap=max(solution.gap for solution in solutions),
        ties_settled=all(solution.ties_settled for solution in solutions),
        parts=plain.parts,
    )


def _order(work: WorkToDo) -> tuple[str, str, str, str]:
    return work.on.isoformat(), work.what, work.tag, work.check


def _job_plan(
    movable: MovableJob,
    placed: Sequence[Mapping[str, int]],
    first: int,
    after: frozenset[tuple[str, int]],
) -> JobPlan:
    need = movable.need
    lines = []
    gets: Counter[tuple[str, str]] = Counter()
    for number, line in enumerate(need.lines):
        on = placed[number]
        gets.update({(line.name, tag): quantity for tag, quantity in on.items()})
        lines.append(
            LinePlan(
                line=line,
                tags=() if line.counted else tuple(on),
                lots=tuple(on.items()) if line.counted else (),
                short=line.quantity - sum(on.values()),
                after=tuple(tag for tag in on if (tag, first + number) in after),
            )
        )
    has: Counter[tuple[str, str]] = Counter()
    for held in movable.promised:
        has[held.line, held.tag] += held.quantity
    return JobPlan(need, tuple(lines), _in_order(need, has - gets), _in_order(need, gets - has))


def _in_order(need: Need, held: Counter[tuple[str, str]]) -> tuple[Held, ...]:
    places = {line.name: place for place, line in enumerate(need.lines)}
    listed = sorted(held.items(), key=lambda each: (places[each[0][0]], each[0][1]))
    return tuple(Held(line, tag, quantity) for (line, tag), quantity in listed if quantity)
