"""What would make a job whole: its kit list with the fewest changes that fill what is short. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from django.utils import timezone

from kit.models import DepotLink, Item, Job, JobState, Reservation, Standing
from kit.planning import Candidate, Held, KitList, Need
from kit.planning.as_slots import kinds_of
from kit.planning.refusal import MOST_DAYS_MOVED, Known, OtherJob, Refusal, ways_out, with_remedies
from kit.planning.refusal.changes import last_day
from kit.ports import ports
from kit.stores.knowledge import candidates, held_by, items_for, kit_list_of, need_of
from kit.stores.season import movable_jobs

_MAY_BE_MENDED = ("available", "quarantined")


@dataclass(frozen=True, slots=True)
class ToldKit:
    """A kit list; where it is short, the fewest changes stand in its remedies, and in `refusal` one by one."""

    kit: KitList
    refusal: Refusal | None


def told_kit_list(job: Job, as_of: date | None = None, all_depots: bool = False) -> ToldKit:
    """The kit list with what would make it whole. For a day that is past nothing can be done any more: there the
    remedies are those of the kit list alone.
    """
    day = as_of or timezone.localdate()
    need = need_of(job)
    items = items_for(need)
    pieces = candidates(items, day, job)
    held = held_by(job)
    past = day < timezone.localdate() or job.state in (JobState.CLOSED, JobState.CANCELLED)
    kit = kit_list_of(
        job,
        day,
        all_depots=all_depots,
        held=held,
        asked=(need, pieces),
        mend="remedies" if past else "soonest",
    )
    if kit.complete or past:
        return ToldKit(kit, None)
    known, more = _known(job, kit, items, pieces, day)
    refusal = ways_out(kit, [*pieces, *more], held, known)
    if job.state != JobState.PLANNED:
        refusal = replace(refusal, soonest=None)
    return ToldKit(with_remedies(kit, refusal), refusal)


def _known(
    job: Job, kit: KitList, items: Sequence[Item], pieces: Sequence[Candidate], day: date
) -> tuple[Known, list[Candidate]]:
    """What is known beside the pieces, and the pieces that other jobs hold which this one has no line for."""
    need = kit.need
    links = {
        (leaves, need.depot): days
        for leaves, days in DepotLink.objects.filter(to_depot=job.depot_id).values_list(
            "from_depot__code", "lead_days"
        )
    }
    wanted = {seen.kind for line in kit.lines if line.short for _, seen in kinds_of(line.line)}
    sets = {piece.set_name for piece in pieces if piece.kind in wanted and piece.set_name}
    of_use = {
        piece.tag: piece
        for piece in pieces
        if piece.state in _MAY_BE_MENDED and (piece.kind in wanted or piece.set_name in sets)
    }
    jobs, more = _jobs(need, day, of_use.values(), links, {piece.tag for piece in pieces})
    known = Known(
        renewals=_renewals(need, [item for item in items if item.tag in of_use], of_use, links, day),
        link_days=links,
        jobs=jobs,
        priority=job.priority,
    )
    return known, more


def _renewals(
    need: Need,
    items: Sequence[Item],
    pieces: Mapping[str, Candidate],
    links: Mapping[tuple[str, str], int],
    day: date,
) -> dict[tuple[str, str], Mapping[date, date]]:
    """Until when checks would hold that are passed on the last day before loading, or before a piece is sent."""
    last = last_day(need, day)
    until = need.return_on + timedelta(days=max((line.margin_days for line in need.lines), default=0))
    days = {last} | {need.load_on - timedelta(days=1 + lead) for lead in links.values()}
    needing = [
        item
        for item in items
        if not any(gate.status == "failed" for gate in pieces[item.tag].gates)
        and any(gate.due_on is None or gate.waits or gate.due_on < until for gate in pieces[item.tag].gates)
    ]
    if not needing:
        return {}
    tags = {item.pk: item.tag for item in needing}
    found = ports.judge.if_passed(needing, sorted(each for each in days if each >= day))
    return {(tags[pk], check): by_day for pk, checks in found.items() for check, by_day in checks.items()}


def _jobs(
    need: Need,
    day: date,
    pieces: Iterable[Candidate],
    links: Mapping[tuple[str, str], int],
    listed: Collection[str],
) -> tuple[tuple[OtherJob, ...], list[Candidate]]:
    """Jobs that hold what this one could use, near enough to its days that moving them might free it, and what else
    they hold."""
    reach = timedelta(days=MOST_DAYS_MOVED)
    first = need.load_on - timedelta(days=1 + max(links.values(), default=0))
    holders = {
        promise.job
        for piece in pieces
        for promise in piece.promises
        if promise.job != need.job
        and not promise.issued
        and promise.ends >= first
        and promise.starts <= need.return_on + reach
    }
    jobs = [each for each in movable_jobs(None, day) if each.reference in holders] if holders else []
    held: dict[int, list[Held]] = defaultdict(list)
    rows = Reservation.objects.filter(
        job__in=[each.pk for each in jobs], standing=Standing.PROMISED
    ).select_related("line", "item__kind", "item__depot", "item__transit_to")
    others: dict[str, Item] = {}
    for row in rows.order_by("job_id", "line__position", "item__tag"):
        held[row.job_id].append(Held(row.line.name, row.item.tag, row.quantity))
        if row.item.tag not in listed:
            others[row.item.tag] = row.item
    found = tuple(
        OtherJob(need_of(each), tuple(held[each.pk]), each.priority) for each in jobs if held[each.pk]
    )
    return found, candidates(others.values(), day)
