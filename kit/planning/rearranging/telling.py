"""A plan in words for a planner, and as the plain values that JSON knows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from kit.planning.rearranging.plan import JobPlan, LinePlan, Plan
from kit.planning.rearranging.season import WorkToDo
from kit.planning.values import Held


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan as JSON has it. `works`, `ties_settled` and a line's `after` (tags that can go only once a work of
    `works` is done) are there only where there is something to say.
    """
    told: dict[str, Any] = {
        "objective": {
            "jobs_short": plan.jobs_short,
            "pieces_short": plan.pieces_short,
            "changes": plan.changes,
        },
        "proven": plan.proven,
        "gap": round(plan.gap, 6),
        "jobs": [
            {
                "job": job.need.job,
                "changed": job.changed,
                "lines": [_line_json(line) for line in job.lines],
            }
            for job in plan.jobs
        ],
    }
    if plan.works:
        told["works"] = [_work_json(work) for work in plan.works]
    if not plan.ties_settled:
        told["ties_settled"] = False
    return told


def _line_json(planned: LinePlan) -> dict[str, Any]:
    told: dict[str, Any] = {"line": planned.line.name}
    if planned.line.counted:
        told["lots"] = [{"lot": lot, "quantity": quantity} for lot, quantity in planned.lots]
    else:
        told["tags"] = list(planned.tags)
    told["short"] = planned.short
    if planned.after:
        told["after"] = list(planned.after)
    return told


def _work_json(work: WorkToDo) -> dict[str, Any]:
    told = {"work": work.what, "tag": work.tag, "on": work.on.isoformat(), "depot": work.depot}
    if work.what == "check":
        return told | {"check": work.check}
    arrives = work.arrives_on.isoformat() if work.arrives_on else None
    return told | {"to": work.to_depot, "arrives_on": arrives}


def plan_text(plan: Plan) -> str:
    """The plan for a terminal: what leaves and what comes, job by job, and what stays short."""
    out = [
        f"{_count(len(plan.jobs), 'job')} looked at: {plan.jobs_short} short, "
        f"{_count(plan.pieces_short, 'piece')} short, {_count(plan.changes, 'promise')} changed."
    ]
    if plan.proven:
        out.append("Proven: no other plan is better.")
    else:
        out.append(f"Not proven best within the time allowed; at most {plan.gap:.1%} could be gained.")
    if not plan.ties_settled:
        out.append("Other plans are just as good; which of them is shown was not looked into.")
    out.extend(_job_text(plan.jobs))
    if plan.works:
        out.append(
            "To be done for it; what waits for one of these is not promised before it is done,\n"
            "and what is to make room for it stays where it is till then:"
        )
        out.extend(f"  {work_text(work)}" for work in plan.works)
    return "\n".join(out) + "\n"


def _job_text(jobs: Iterable[JobPlan]) -> Iterator[str]:
    as_they_are = 0
    for job in jobs:
        if not (job.leaves or job.comes or job.short):
            as_they_are += 1
            continue
        need = job.need
        state = f"{_count(job.short, 'piece')} SHORT" if job.short else "whole"
        yield f"{need.job} at {need.depot}, loading {need.load_on}, back {need.return_on}: {state}"
        for planned in job.lines:
            name = planned.line.name
            leaves = _held(planned, (held for held in job.leaves if held.line == name))
            comes = _held(planned, (held for held in job.comes if held.line == name), planned.after)
            said = [
                f"leaves {leaves}" if leaves else "",
                f"comes {comes}" if comes else "",
                f"short of {planned.short}" if planned.short else "",
            ]
            if any(said):
                yield f"  {name}: {'; '.join(part for part in said if part)}"
    if as_they_are:
        yield f"{_count(as_they_are, 'job')} whole as promised, nothing to do."


def _held(planned: LinePlan, held: Iterable[Held], after: Iterable[str] = ()) -> str:
    waiting = set(after)
    return ", ".join(
        each.tag
        + (f" x {each.quantity}" if planned.line.counted else "")
        + (" (after a work below)" if each.tag in waiting else "")
        for each in held
    )


def work_text(work: WorkToDo) -> str:
    """A work as a sentence's worth of words."""
    if work.what == "check":
        return f"{work.on}: {work.check} of {work.tag} at {work.depot}"
    return f"{work.on}: send {work.tag} from {work.depot} to {work.to_depot}, there on {work.arrives_on}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
