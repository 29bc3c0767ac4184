"""The code that goes over plans finds every fault put into a good one: else it would be no check."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from kit.planning.rearranging import (
    LinePlan,
    MovableJob,
    Plan,
    PlanFault,
    Season,
    WorkToDo,
    check,
    rearrange,
)
from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise

AS_OF = date(2026, 11, 2)


def day(offset: int) -> date:
    return AS_OF + timedelta(days=offset)


LINES = (
    Line("bags", "bag", 1, "bore", turn_round_days=1),
    Line("heads", "head", 2, "any", assembly="stop"),
    Line("bases", "base", 2, "any", assembly="stop"),
    Line("gauges", "gauge", 2),
    Line("seals", "seal", 3, counted=True),
)


def _need(job: str, first: int, last: int) -> Need:
    return Need(job, "NORTH", day(first), day(last), Decimal("165.2"), "M3", LINES)


def _bag(tag: str, low: int, high: int, depot: str = "NORTH") -> Candidate:
    return Candidate(tag, "bag", depot, bore_min_mm=Decimal(low), bore_max_mm=Decimal(high))


SEASON = Season(
    jobs=(
        MovableJob(_need("J1", 5, 7), 1, (Held("bags", "B1"), Held("seals", "L1", 2))),
        MovableJob(_need("J2", 8, 9), 1, (Held("heads", "H1"),)),
        MovableJob(_need("J3", 20, 22)),
    ),
    candidates=(
        _bag("B1", 150, 180),
        _bag("B2", 150, 200),
        _bag("B3", 150, 210, "SOUTH"),
        _bag("B4", 200, 250),
        Candidate("H1", "head", "NORTH", mark="M3"),
        Candidate("H2", "head", "NORTH", mark="m3 "),
        Candidate("H3", "head", "NORTH", mark="M7"),
        Candidate("H4", "head", "NORTH"),
        Candidate("S1", "base", "NORTH", mark="M3"),
        Candidate("S2", "base", "NORTH", mark="M3"),
        Candidate("S3", "base", "NORTH", mark="M7"),
        Candidate("G1", "gauge", "NORTH", set_name="pair"),
        Candidate("G2", "gauge", "NORTH", set_name="pair"),
        Candidate("G3", "gauge", "NORTH", gates=(Gate("calibration", "dated", day(2)),)),
        Candidate("G4", "gauge", "NORTH", promises=(Promise("J9", day(4), day(30), issued=False),)),
        Candidate("G5", "gauge", "NORTH", state="quarantined"),
        Candidate("L1", "seal", "NORTH", quantity=8),
    ),
    as_of=AS_OF,
    bench_a_day={"NORTH": 1},
    link_days={("SOUTH", "NORTH"): 2},
    renewals={("G3", "calibration"): {day(n): day(n + 300) for n in range(20)}},
)

Change = Callable[[Plan], Plan]


def with_line(plan: Plan, job: int, line: int, **values: object) -> Plan:
    jobs = list(plan.jobs)
    lines = list(jobs[job].lines)
    lines[line] = replace(lines[line], **values)  # type: ignore[arg-type]
    jobs[job] = replace(jobs[job], lines=tuple(lines))
    return as_told(replace(plan, jobs=tuple(jobs)))


def as_told(plan: Plan) -> Plan:
    """The plan with its sums and its leaving and coming as a careless program would work them out from its lines."""
    jobs = []
    for job, movable in zip(plan.jobs, SEASON.jobs, strict=True):
        has = {(held.line, held.tag): held.quantity for held in movable.promised}
        gets: dict[tuple[str, str], int] = {}
        for line in job.lines:
            for tag in [*line.tags, *(lot for lot, n in line.lots for _ in range(n))]:
                gets[line.line.name, tag] = gets.get((line.line.name, tag), 0) + 1
        leaves = tuple(Held(*key, n - gets.get(key, 0)) for key, n in has.items() if n > gets.get(key, 0))
        comes = tuple(Held(*key, n - has.get(key, 0)) for key, n in gets.items() if n > has.get(key, 0))
        jobs.append(replace(job, leaves=leaves, comes=comes))
    return replace(
        plan,
        jobs=tuple(jobs),
        pieces_short=sum(job.short for job in jobs),
        jobs_short=sum(job.short > 0 for job in jobs),
        changes=sum(held.quantity for job in jobs for held in job.leaves),
    )


def swapped_line(plan: Plan, line: LinePlan) -> Plan:
    jobs = list(plan.jobs)
    jobs[0] = replace(jobs[0], lines=(line, *jobs[0].lines[1:]))
    return replace(plan, jobs=tuple(jobs))


# What is done to a good plan, and a word of what is said of it.
FAULTS: dict[str, tuple[Change, str]] = {
    "a piece on two jobs within the turn-round": (
        lambda p: with_line(p, 1, 0, tags=("B1",)),
        "is on J1 and on J2",
    ),
    "a bag too large for the bore": (lambda p: with_line(p, 0, 0, tags=("B4",)), "suits 200 to 250 mm"),
    "a bag of another depot": (lambda p: with_line(p, 0, 0, tags=("B3",)), "at depot SOUTH"),
    "a piece of another kind": (lambda p: with_line(p, 0, 0, tags=("H3",)), "does not take"),
    "a piece nobody knows": (lambda p: with_line(p, 0, 0, tags=("X1",)), "not in the register"),
    "a piece in quarantine": (lambda p: with_line(p, 0, 3, tags=("G5",), short=1), "quarantine"),
    "a piece promised for good": (lambda p: with_line(p, 0, 3, tags=("G4",), short=1), "promised to J9"),
    "a piece out of date": (lambda p: with_line(p, 0, 3, tags=("G3",), short=1), "overdue|falls due"),
    "half a set": (lambda p: with_line(p, 0, 3, tags=("G1",), short=1), "without G2"),
    "heads and bases of two marks": (lambda p: with_line(p, 0, 1, tags=("H1", "H3")), "cannot be made up"),
    "no mark in an assembly": (lambda p: with_line(p, 0, 1, tags=("H1", "H4")), "without a mark"),
    "a piece twice on a line": (lambda p: with_line(p, 0, 3, tags=("G1", "G1", "G2")), "more than once"),
    "more pieces than the line wants": (lambda p: with_line(p, 0, 0, tags=("B1", "B2")), "has 2 and lacks 0"),
    "a shortage left out": (lambda p: with_line(p, 0, 0, tags=()), "has 0 and lacks 0"),
    "more of a lot than there is": (
        lambda p: replace(
            with_line(with_line(p, 2, 4, lots=(("L1", 3),), short=0), 1, 4, lots=(("L1", 3),), short=0)
        ),
        "9 of lot L1",
    ),
    "a lot on a line of pieces": (
        lambda p: with_line(p, 0, 0, tags=(), lots=(("B1", 1),)),
        "mixes|more than",
    ),
    "less than one of a lot": (lambda p: with_line(p, 0, 4, lots=(("L1", 0),), short=3), "less than one"),
    "a line renamed": (
        lambda p: swapped_line(p, replace(p.jobs[0].lines[0], line=replace(LINES[0], name="sacks"))),
        "not those of its arrangement",
    ),
    "a job left out": (lambda p: replace(p, jobs=p.jobs[1:]), "not about the jobs"),
    "fewer pieces short than there are": (lambda p: replace(p, pieces_short=0), "pieces short where"),
    "fewer jobs short than there are": (lambda p: replace(p, jobs_short=0), "jobs short where"),
    "a change not counted": (lambda p: replace(p, changes=p.changes + 1), "promises changed where"),
    "a piece that comes unsaid": (
        lambda p: replace(p, jobs=(replace(p.jobs[0], comes=p.jobs[0].comes[1:]), *p.jobs[1:])),
        "does not say what comes",
    ),
    "a piece that leaves unsaid": (
        lambda p: replace(p, jobs=(replace(p.jobs[0], leaves=(Held("bags", "B9"),)), *p.jobs[1:])),
        "does not say what leaves",
    ),
    "a work that nothing waits for": (
        lambda p: replace(p, works=(*p.works, WorkToDo("check", "G3", day(1), "NORTH", check="calibration"))),
        "nothing waits for",
    ),
}


def plain() -> tuple[Season, Plan]:
    season = replace(SEASON, bench_a_day={}, link_days={})
    return season, rearrange(season)


def test_the_good_plan_is_let_through() -> None:
    season, plan = plain()
    assert (plan.jobs_short, plan.pieces_short, plan.changes) == (1, 1, 0)
    check(season, plan)


@pytest.mark.parametrize("name", FAULTS)
def test_fault_is_found(name: str) -> None:
    change, says = FAULTS[name]
    season, plan = plain()
    with pytest.raises(PlanFault, match=says):
        check(season, change(plan))


# Two gauges and a bag fewer: now one gauge has to be calibrated and one bag sent.
WORKED = replace(
    SEASON,
    candidates=(
        *(piece for piece in SEASON.candidates if piece.tag not in ("B2", "G1", "G2")),
        Candidate("G6", "gauge", "NORTH"),
    ),
    renewals={
        key: {day(n): day(n + 300) for n in range(20)}
        for key in (("G3", "calibration"), ("G6", "calibration"), ("B3", "visual"))
    },
)


def worked() -> Plan:
    return rearrange(WORKED)


def works_with(plan: Plan, what: str, **values: object) -> Plan:
    return replace(
        plan,
        works=tuple(
            replace(work, **values) if work.what == what else work  # type: ignore[arg-type]
            for work in plan.works
        ),
    )


WORK_FAULTS: dict[str, tuple[Change, str]] = {
    "sent too late": (
        lambda p: works_with(p, "transfer", on=day(8), arrives_on=day(10)),
        "at depot SOUTH",
    ),
    "there sooner than the way takes": (
        lambda p: works_with(p, "transfer", on=day(3), arrives_on=day(4)),
        "cannot be at NORTH",
    ),
    "sent before today": (
        lambda p: works_with(p, "transfer", on=day(-1), arrives_on=day(1)),
        "not at hand",
    ),
    "sent from where it is not": (lambda p: works_with(p, "transfer", depot="EAST"), "not at EAST"),
    "checked too late": (lambda p: works_with(p, "check", on=day(5)), "overdue|falls due"),
    "checked on a day when it is out": (lambda p: works_with(p, "check", on=day(6)), "when it is on J1"),
    "more checks than the bench does": (
        lambda p: replace(p, works=(*p.works, replace(p.works[0], tag="G6"))),
        "more than its bench does a day",
    ),
    "sent and checked as well": (
        lambda p: replace(p, works=(*p.works, WorkToDo("check", "B3", day(1), "SOUTH", check="visual"))),
        "more than that is to be done",
    ),
    "works left out": (lambda p: replace(p, works=()), "not said rightly"),
    "not said to wait": (
        lambda p: replace(
            p,
            jobs=tuple(
                replace(job, lines=tuple(replace(line, after=()) for line in job.lines)) for job in p.jobs
            ),
        ),
        "not said rightly",
    ),
}


def test_the_good_plan_with_works_is_let_through() -> None:
    plan = worked()
    assert [(work.what, work.tag, work.on) for work in plan.works] == [
        ("check", "G3", day(4)),
        ("transfer", "B3", day(5)),
    ]
    assert (plan.jobs_short, plan.pieces_short, plan.changes) == (1, 1, 0)
    check(WORKED, plan)


@pytest.mark.parametrize("name", WORK_FAULTS)
def test_fault_in_works_is_found(name: str) -> None:
    change, says = WORK_FAULTS[name]
    with pytest.raises(PlanFault, match=says):
        check(WORKED, change(worked()))
