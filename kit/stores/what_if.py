"""A trial plan worked out on the register as it is: both sides chosen by the same rearranging. Reads only."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from kit.models import Arrangement, Depot, Item, Kind
from kit.planning.mains import Main
from kit.planning.readiness import Day
from kit.planning.rearranging import Plan, Season, rearrange
from kit.planning.rearranging.season import Renewals
from kit.planning.values import Held, Line
from kit.planning.what_if import AddJob, Change, SetBench
from kit.planning.what_if_season import KindKnown, Known, with_changes
from kit.planning.what_if_weighed import Weighed, weigh
from kit.ports import ports
from kit.processors import limits_here
from kit.stores.knowledge import candidates, items_of_kinds, kinds_taken, lines_of, with_mates
from kit.stores.season import movable_jobs, season_of

Progress = Callable[[int, int, str], None]

QUICK_JOBS = 12
"""So many jobs are rearranged twice well within two seconds."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A trial plan, the depots whose jobs it is about, and of what stops are counted beside them."""

    changes: tuple[Change, ...]
    depots: tuple[str, ...]
    arrangement: Arrangement
    main: Main
    first: date
    days: int
    today: date

    def ids(self) -> list[int]:
        return list(Depot.objects.filter(code__in=self.depots).order_by("pk").values_list("pk", flat=True))


def is_quick(asked: Asked) -> bool:
    """Whether it is worked out while a page may be waited for."""
    added = sum(isinstance(change, AddJob) for change in asked.changes)
    return len(movable_jobs(asked.ids(), asked.today)) + added <= QUICK_JOBS


def weigh_up(asked: Asked, progress: Progress = lambda done, total, text: None) -> dict[str, Any]:
    """Both sides as plain values: {"now": ..., "trial": ..., "not_made": {place of a change: why}}.

    Each side has whole, jobs_short, pieces_short, changes, works, proven, gap, jobs (with the lines that are short) and
    stops, the stops of the arrangement left over each day beside what the jobs are given.
    """
    progress(0, 3, _("reading the register"))
    lines = lines_of(asked.arrangement)
    known = known_of(asked.depots)
    season = season_with_all(asked, known, lines)
    trial = with_changes(season, asked.changes, known)
    progress(1, 3, _("choosing as it is"))
    now = _side(season, asked, lines)
    progress(2, 3, _("choosing with the plan"))
    then = now if trial.season == season else _side(trial.season, asked, lines)
    return {
        "now": now,
        "trial": then,
        "not_made": {str(place): why for place, why in trial.not_made.items()},
    }


def known_of(depots: Iterable[str]) -> Known:
    """What changes may name: these depots, all kinds, the arrangements in force."""
    return Known(
        depots=frozenset(depots),
        kinds={
            kind.name: KindKnown(kind.counted, kind.bore_margin_mm, kind.sized_by)  # type: ignore[arg-type]
            for kind in Kind.objects.all()
        },
        arrangements={each.name: lines_of(each) for each in Arrangement.objects.filter(current=True)},
    )


def season_with_all(asked: Asked, known: Known, lines: Sequence[Line]) -> Season:
    """The season of the depots, with the pieces that only added jobs or the counted stops need, and, for benches that
    a change gives something to do, until when checks would hold.
    """
    season = season_of(asked.ids(), asked.today)
    needed = list(lines)
    for change in asked.changes:
        if isinstance(change, AddJob):
            needed += known.arrangements.get(change.arrangement, ())
    listed = {piece.tag for piece in season.candidates}
    found = items_of_kinds(Kind.objects.filter(name__in=kinds_taken(needed)).values_list("pk", flat=True))
    here = [
        item
        for item in found
        if item.depot.code in asked.depots or (item.transit_to and item.transit_to.code in asked.depots)
    ]
    more = [item for item in with_mates(here) if item.tag not in listed]
    season = replace(season, candidates=(*season.candidates, *candidates(more, asked.today)))
    opened = {
        change.depot
        for change in asked.changes
        if isinstance(change, SetBench) and change.a_day and change.depot not in season.bench_a_day
    }
    if opened:
        season = replace(season, renewals={**season.renewals, **_renewals(season, asked, opened)})
    return season


def _renewals(season: Season, asked: Asked, depots: Collection[str]) -> Renewals:
    """Until when checks of the pieces at these depots would hold, passed on any day up to the last loading."""
    added = [change for change in asked.changes if isinstance(change, AddJob)]
    loads = [job.need.load_on for job in season.jobs] + [change.load_on for change in added]
    if not loads:
        return {}
    days = [asked.today + timedelta(days=n) for n in range(max((max(loads) - asked.today).days, 0))]
    tags = [piece.tag for piece in season.candidates if piece.depot in depots]
    items = list(Item.objects.filter(tag__in=tags, counted=False).select_related("kind", "depot"))
    named = {item.pk: item.tag for item in items}
    found = ports.judge.if_passed(items, days)
    return {(named[pk], check): by_day for pk, checks in found.items() for check, by_day in checks.items()}


def _side(season: Season, asked: Asked, lines: Sequence[Line]) -> dict[str, Any]:
    plan = rearrange(season, limits_here())
    weighed = weigh(season, placed_by(plan), lines, asked.main, asked.first, asked.days)
    return {
        **_figures(weighed),
        "changes": plan.changes,
        "works": len(plan.works),
        "proven": plan.proven,
        "gap": plan.gap,
    }


def placed_by(plan: Plan) -> dict[str, list[Held]]:
    """By job, what the plan puts on its lines."""
    return {
        job.need.job: [
            *(Held(line.line.name, tag) for line in job.lines for tag in line.tags),
            *(Held(line.line.name, lot, quantity) for line in job.lines for lot, quantity in line.lots),
        ]
        for job in plan.jobs
    }


def _figures(weighed: Weighed) -> dict[str, Any]:
    return {
        "whole": weighed.whole,
        "jobs_short": weighed.jobs_short,
        "pieces_short": weighed.pieces_short,
        "jobs": [
            {
                "job": job.job,
                "load_on": job.load_on.isoformat(),
                "return_on": job.return_on.isoformat(),
                "short": [list(each) for each in job.short],
            }
            for job in weighed.jobs
        ],
        "stops": [_day(day) for day in weighed.stops],
    }


def _day(day: Day) -> dict[str, Any]:
    return {"date": day.day.isoformat(), "stops": day.stops, "limited_by": list(day.limited_by)}
