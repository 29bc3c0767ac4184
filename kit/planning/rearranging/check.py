"""Going over a plan with other code than made it: day by day, piece by piece, no solver and no sums of the solver's.

Every plan is gone over before anybody sees it. What it finds is a fault of the program, never of the register.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from kit.planning.rearranging.season import Season, WorkToDo
from kit.planning.reasons import reasons_for
from kit.planning.values import Candidate, Gate, Line, Need

if TYPE_CHECKING:
    from kit.planning.rearranging.plan import JobPlan, LinePlan, Plan

_NAMED_AT_MOST = 5


class PlanFault(RuntimeError):
    """A plan that does not hold. `faults`: a sentence on each."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        more = f" and {len(faults) - _NAMED_AT_MOST} more" if len(faults) > _NAMED_AT_MOST else ""
        super().__init__(
            "The plan that was worked out does not hold, so it is not shown; this is a fault of the program: "
            + " ".join(faults[:_NAMED_AT_MOST])
            + more
        )


def check(season: Season, plan: Plan) -> None:
    """Raise PlanFault if anything about the plan is not as it must be."""
    faults = list(faults_of(season, plan))
    if faults:
        raise PlanFault(faults)


def faults_of(season: Season, plan: Plan) -> Iterator[str]:
    """A sentence on everything that is wrong with the plan."""
    if [job.need for job in plan.jobs] != [job.need for job in season.jobs]:
        yield "It is not about the jobs that were asked about."
        return
    pieces = {candidate.tag: candidate for candidate in season.candidates}
    unknown = sorted({tag for job in plan.jobs for line in job.lines for tag in _tags(line)} - set(pieces))
    if unknown:
        yield f"It uses {', '.join(unknown)}, which is not in the register."
        return
    for work in plan.works:
        if work.tag not in pieces or not _may_be_passed(season, work):
            yield f"Nothing is known of what passing {work.check or work.what} of {work.tag} on {work.on} would give."
            return
    for job in plan.jobs:
        yield from _job(season, job, pieces, plan.works)
    yield from _windows(plan, pieces)
    yield from _lots(plan, pieces)
    for job in plan.jobs:
        yield from _sets(job, pieces.values(), pieces)
        yield from _assemblies(job, pieces)
    yield from _works(season, plan, pieces)
    yield from _sums(season, plan)


def _may_be_passed(season: Season, work: WorkToDo) -> bool:
    return work.what == "transfer" or work.on in season.renewals.get((work.tag, work.check), {})


def _tags(line: LinePlan) -> list[str]:
    return [*line.tags, *(lot for lot, quantity in line.lots for _ in range(quantity))]


def _as_kind(line: Line, kind: str) -> Line | None:
    """The line as a piece of this kind sees it; None if the line takes none of that kind."""
    if kind == line.kind:
        return line
    for other in line.substitutes:
        if other.kind == kind:
            return replace(
                line, kind=kind, margin_days=other.margin_days, turn_round_days=other.turn_round_days
            )
    return None


def _job(
    season: Season, job: JobPlan, pieces: dict[str, Candidate], works: tuple[WorkToDo, ...]
) -> Iterator[str]:
    need = job.need
    if [line.line for line in job.lines] != list(need.lines):
        yield f"The lines of {need.job} are not those of its arrangement."
        return
    seen: Counter[str] = Counter()
    for planned in job.lines:
        line = planned.line
        tags = _tags(planned)
        seen.update(set(tags))
        if len(tags) + planned.short != line.quantity or planned.short < 0:
            yield f"{line.name} of {need.job} has {len(tags)} and lacks {planned.short} of {line.quantity}."
        if line.counted != bool(planned.lots) and tags:
            yield f"{line.name} of {need.job} mixes lots and pieces."
        if any(quantity < 1 for _, quantity in planned.lots):
            yield f"{line.name} of {need.job} has less than one of a lot."
        for tag in sorted(set(tags)):
            piece = pieces[tag]
            as_kind = _as_kind(line, piece.kind)
            if as_kind is None:
                yield f"{tag} is a {piece.kind}, which {line.name} of {need.job} does not take."
                continue
            then = _worked_on(season, piece, need, works)
            if then != piece and tag not in planned.after and _plain(season, piece, as_kind, need):
                then = piece
            if (then != piece) != (tag in planned.after):
                yield f"{tag} for {need.job} is not said rightly to wait for a work."
            for reason in reasons_for(then, as_kind, need, season.as_of):
                yield f"{tag} cannot go on {line.name} of {need.job}: {reason.text}"
    for tag, count in seen.items():
        lot = any(lot == tag for planned in job.lines for lot, _ in planned.lots)
        if (count > 1 and not lot) or any(_tags(p).count(tag) > 1 for p in job.lines if not p.line.counted):
            yield f"{tag} is given to {need.job} more than once."


def _plain(season: Season, piece: Candidate, line: Line, need: Need) -> bool:
    return not reasons_for(piece, line, need, season.as_of)


def _worked_on(season: Season, piece: Candidate, need: Need, works: tuple[WorkToDo, ...]) -> Candidate:
    """The piece as the plan has it on the morning of loading."""
    for work in works:
        if work.tag != piece.tag:
            continue
        if work.what == "check" and work.on < need.load_on:
            due = season.renewals[piece.tag, work.check][work.on]
            gates = [
                Gate(work.check, "dated", due, work.on) if gate.check == work.check else gate
                for gate in piece.gates
            ]
            piece = replace(piece, gates=tuple(gates))
        if work.what == "transfer" and work.arrives_on is not None and work.arrives_on < need.load_on:
            piece = replace(piece, depot=work.to_depot)
    return piece


def _windows(plan: Plan, pieces: dict[str, Candidate]) -> Iterator[str]:
    """No piece at two places on one day: on jobs, on the bench, on the road, or still there once it is sent."""
    days: dict[tuple[str, date], str] = {}
    for job in plan.jobs:
        for planned in job.lines:
            for tag in planned.tags:
                line = _as_kind(planned.line, pieces[tag].kind)
                turn = line.turn_round_days if line is not None else 0
                for day in _each_day(job.need.load_on, job.need.return_on + timedelta(days=turn)):
                    if (tag, day) in days:
                        yield f"{tag} is on {days[tag, day]} and on {job.need.job} on {day}."
                    days[tag, day] = job.need.job
                    for work in plan.works:
                        if work.tag != tag:
                            continue
                        if work.what == "check" and work.on == day:
                            yield f"{tag} is to be checked on {day}, when it is on {job.need.job}."
                        if work.what == "transfer" and work.depot == job.need.depot and work.on <= day:
                            yield f"{tag} is sent away on {work.on} and still on {job.need.job} on {day}."


def _each_day(first: date, last: date) -> Iterator[date]:
    for offset in range((last - first).days + 1):
        yield first + timedelta(days=offset)


def _lots(plan: Plan, pieces: dict[str, Candidate]) -> Iterator[str]:
    taken = Counter(
        tag for job in plan.jobs for planned in job.lines if planned.line.counted for tag in _tags(planned)
    )
    for tag, count in sorted(taken.items()):
        if count > pieces[tag].quantity:
            yield f"{count} of lot {tag} are given away and {pieces[tag].quantity} are left."


def _sets(job: JobPlan, register: Iterable[Candidate], pieces: dict[str, Candidate]) -> Iterator[str]:
    going = {tag for planned in job.lines for tag in _tags(planned)}
    touched = {(pieces[tag].depot, pieces[tag].set_name) for tag in going if pieces[tag].set_name}
    for depot, name in sorted(touched):
        left = sorted(
            p.tag for p in register if (p.depot, p.set_name) == (depot, name) and p.tag not in going
        )
        if left:
            yield f"{job.need.job} takes the set {name} without {', '.join(left)}."


def _assemblies(job: JobPlan, pieces: dict[str, Candidate]) -> Iterator[str]:
    """Units are counted out one mark after the other: each mark needs as many as its fullest line."""
    by_name: dict[str, list[LinePlan]] = defaultdict(list)
    for planned in job.lines:
        if planned.line.assembly:
            by_name[planned.line.assembly].append(planned)
    for name, lines in by_name.items():
        units = max(
            count
            for count in range(1, min(planned.line.quantity for planned in lines) + 1)
            if all(planned.line.quantity % count == 0 for planned in lines)
        )
        needed: dict[str, int] = defaultdict(int)
        for planned in lines:
            a_unit = planned.line.quantity // units
            marks = Counter(pieces[tag].mark.strip().casefold() for tag in _tags(planned))
            if marks.pop("", 0):
                yield f"A piece without a mark is on {planned.line.name} of {job.need.job}."
            for mark, count in marks.items():
                while needed[mark] * a_unit < count:
                    needed[mark] += 1
        if sum(needed.values()) > units:
            yield f"The {name} of {job.need.job} cannot be made up: pieces of one mark do not come together."


def _works(season: Season, plan: Plan, pieces: dict[str, Candidate]) -> Iterator[str]:
    for (depot, day), count in Counter((w.depot, w.on) for w in plan.works if w.what == "check").items():
        if count > season.bench_a_day.get(depot, 0):
            yield f"{count} checks are planned at {depot} on {day}, more than its bench does a day."
    for (tag, what), count in Counter((w.tag, w.what) for w in plan.works).items():
        if what == "transfer" and (count > 1 or any(w.tag == tag and w.what == "check" for w in plan.works)):
            yield f"{tag} is to be sent, and more than that is to be done to it."
    for work in plan.works:
        piece = pieces[work.tag]
        if work.on < season.as_of or any(promise.ends >= work.on for promise in piece.promises):
            yield f"{work.tag} is not at hand on {work.on}."
        if work.depot != piece.depot or piece.custody == "in-transit":
            yield f"{work.tag} is not at {work.depot}."
        if work.what == "transfer":
            lead = season.link_days.get((work.depot, work.to_depot))
            if lead is None or work.arrives_on != work.on + timedelta(days=lead):
                yield f"{work.tag} cannot be at {work.to_depot} on {work.arrives_on}."
        waiting = any(work.tag in planned.after for job in plan.jobs for planned in job.lines)
        if not waiting:
            yield f"{work.tag} has a work planned that nothing waits for."


def _sums(season: Season, plan: Plan) -> Iterator[str]:
    short = sum(planned.short for job in plan.jobs for planned in job.lines)
    if plan.pieces_short != short:
        yield f"It counts {plan.pieces_short} pieces short where {short} are."
    jobs = sum(any(planned.short for planned in job.lines) for job in plan.jobs)
    if plan.jobs_short != jobs:
        yield f"It counts {plan.jobs_short} jobs short where {jobs} are."
    changes = 0
    for job, movable in zip(plan.jobs, season.jobs, strict=True):
        has: Counter[tuple[str, str]] = Counter()
        for held in movable.promised:
            has[held.line, held.tag] += held.quantity
        gets = Counter((planned.line.name, tag) for planned in job.lines for tag in _tags(planned))
        leaves = {key: has[key] - gets[key] for key in has if has[key] > gets[key]}
        comes = {key: gets[key] - has[key] for key in gets if gets[key] > has[key]}
        changes += sum(leaves.values())
        if {(held.line, held.tag): held.quantity for held in job.leaves} != leaves:
            yield f"It does not say what leaves {job.need.job}."
        if {(held.line, held.tag): held.quantity for held in job.comes} != comes:
            yield f"It does not say what comes to {job.need.job}."
    if plan.changes != changes:
        yield f"It counts {plan.changes} promises changed where {changes} are."
