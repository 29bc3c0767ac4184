"""Rearranging: all promises of a season chosen anew at once, as few as can be given up, and checked before shown.

    plan = rearrange(season)        proposes; nothing is written
    plan_json(plan), plan_text(plan)

`asking.py` turns jobs and pieces into the question of `kit.planning.exact`, `check.py` goes over the answer with code
of its own.
"""

from kit.planning.rearranging.at_once import AtOnce, at_once
from kit.planning.rearranging.check import PlanFault, check
from kit.planning.rearranging.plan import JobPlan, LinePlan, Plan, rearrange
from kit.planning.rearranging.season import MovableJob, Season, WorkToDo
from kit.planning.rearranging.telling import plan_json, plan_text

__all__ = [
    "AtOnce",
    "JobPlan",
    "LinePlan",
    "MovableJob",
    "Plan",
    "PlanFault",
    "Season",
    "WorkToDo",
    "at_once",
    "check",
    "plan_json",
    "plan_text",
    "rearrange",
]
