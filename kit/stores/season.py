"""The season as the register has it: what may be rearranged, and every piece that might serve. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta

from kit.models import Depot, DepotLink, Item, Job, JobState, Kind, Reservation, Standing
from kit.planning import Candidate, Held
from kit.planning.rearranging import MovableJob, Season
from kit.planning.rearranging.season import Renewals
from kit.ports import ports
from kit.stores.knowledge import candidates, items_of_kinds, kinds_taken, needs_of, with_mates


def movable_jobs(depots: Collection[int] | None, today: date) -> list[Job]:
    """Planned jobs of which nothing is or was issued and whose return is not past, by loading day and reference."""
    out = Reservation.objects.filter(standing__in=[Standing.ISSUED, Standing.RETURNED])
    found = (
        Job.objects.filter(state=JobState.PLANNED, return_on__gte=today)
        .exclude(pk__in=out.values("job_id"))
        .select_related("depot", "arrangement")
    )
    if depots is not None:
        found = found.filter(depot__in=depots)
    # Not as the database sorts text: the two engines need not agree, and planning compares as Python does.
    return sorted(found, key=lambda job: (job.load_on, job.reference))


def season_of(depots: Collection[int] | None, today: date) -> Season:
    """The season of these depots, of all by default. Jobs of other depots keep what they are promised."""
    jobs = movable_jobs(depots, today)
    needs = needs_of(jobs)
    held: dict[int, list[Held]] = defaultdict(list)
    rows = Reservation.objects.filter(job__in=needs, standing=Standing.PROMISED)
    for job_id, line, tag, quantity in rows.order_by(
        "job_id", "line__position", "item__tag", "pk"
    ).values_list("job_id", "line__name", "item__tag", "quantity"):
        held[job_id].append(Held(line, tag, quantity))
    bench = dict(Depot.objects.filter(bench_a_day__gt=0).values_list("code", "bench_a_day"))
    links = {
        (from_code, to_code): days
        for from_code, to_code, days in DepotLink.objects.values_list(
            "from_depot__code", "to_depot__code", "lead_days"
        )
    }
    here = {need.depot for need in needs.values()}
    links = {way: days for way, days in links.items() if way[1] in here}
    names = {need.depot for need in needs.values()} | {way[0] for way in links}
    items = _items(
        kinds_taken(line for need in needs.values() for line in need.lines),
        names,
    )
    moved = {job.reference for job in jobs}
    promised_of_lots: dict[str, int] = defaultdict(int)
    for listed in held.values():
        for each in listed:
            promised_of_lots[each.tag] += each.quantity
    register = [
        _unpromised(candidate, moved, promised_of_lots.get(candidate.tag, 0) if item.counted else 0)
        for item, candidate in zip(items, candidates(items, today), strict=True)
    ]
    bench = {code: count for code, count in bench.items() if code in names}
    return Season(
        jobs=tuple(MovableJob(needs[job.pk], job.priority, tuple(held[job.pk])) for job in jobs),
        candidates=tuple(register),
        as_of=today,
        bench_a_day=bench,
        link_days=links,
        renewals=_renewals(items, jobs, bench, today),
    )


def _items(kinds: Iterable[str], depots: Collection[str]) -> list[Item]:
    """Items of these kinds at these depots or on their way there, and the members of their sets."""
    ids = list(Kind.objects.filter(name__in=kinds).values_list("pk", flat=True))
    found = [
        item
        for item in items_of_kinds(ids)
        if item.depot.code in depots or (item.transit_to is not None and item.transit_to.code in depots)
    ]
    return with_mates(found)


def _unpromised(candidate: Candidate, jobs: Collection[str], more: int) -> Candidate:
    """The piece as it is without what these jobs were promised; `more` of a lot come free by that."""
    return replace(
        candidate,
        promises=tuple(promise for promise in candidate.promises if promise.job not in jobs),
        quantity=candidate.quantity + more,
    )


def _renewals(
    items: Iterable[Item], jobs: Collection[Job], bench: Mapping[str, int], today: date
) -> Renewals:
    """Until when checks would hold that are passed before a loading, of pieces that need one within the season."""
    if not bench or not jobs:
        return {}
    last = max(job.return_on for job in jobs) + timedelta(days=1)
    days = [today + timedelta(days=n) for n in range(max((max(j.load_on for j in jobs) - today).days, 0))]
    needing = [
        item
        for item in items
        if not item.counted
        and item.depot.code in bench
        and not (item.fit_until is not None and item.fit_until > last + timedelta(days=item.kind.margin_days))
    ]
    tags = {item.pk: item.tag for item in needing}
    found = ports.judge.if_passed(needing, days)
    return {(tags[pk], check): by_day for pk, checks in found.items() for check, by_day in checks.items()}
