"""What the store knows, in the words of planning: items as candidates, jobs as needs. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.conf import settings
from django.db.models import Q, QuerySet, Sum
from django.utils import timezone

from kit.models import (
    HOLDING,
    Item,
    Job,
    JobState,
    Kind,
    Reservation,
    Standing,
)
from kit.planning import (
    Bore,
    Candidate,
    Gate,
    Held,
    KitList,
    Line,
    Need,
    Promise,
    draw_up,
    effective_bore,
    nominal_bore_mm,
)
from kit.ports import ports

T = TypeVar("T")


def plain(mm: Decimal | None) -> Decimal | None:
    """The same length without the zeros that its column adds: sentences say 154.3 mm, not 154.300 mm."""
    return None if mm is None else Decimal(format(mm.normalize(), "f"))


def nominal_bore(job: Job) -> Bore:
    """The bore that material, size and SDR or wall give, and where the figure comes from."""
    return nominal_bore_mm(
        job.main_material, job.main_size, sdr=job.main_sdr or None, wall_mm=job.main_wall_mm
    )


def bore_of(job: Job) -> tuple[Decimal | None, str, str | None]:
    """(bore_mm, source, warning): the measured bore wins; a warning when the two disagree by more than the setting."""
    return effective_bore(plain(job.bore_mm), nominal_bore(job), settings.BORE_WARNING_MM)


def conceded_texts(kit: KitList, job: Job) -> dict[str, str]:
    """Of each piece chosen or also fit that is in date by a concession: which check, from when to when."""
    tags = {tag for line in kit.lines for tag in line.tags} | {fit.tag for fit in kit.also_fit}
    items: list[Item] = []
    for chunk in chunked(sorted(tags)):
        rows = Item.objects.filter(tag__in=chunk).select_related("kind", "depot", "transit_to")
        items.extend(rows)
    found: dict[str, str] = {}
    for known in candidates(items, kit.as_of, job):
        said = [
            f"by concession: {gate.check} due {gate.conceded_from}, conceded until {gate.due_on}"
            for gate in known.gates
            if gate.conceded_from is not None
        ]
        if said:
            found[known.tag] = "; ".join(said)
    return found


def need_of(job: Job) -> Need:
    """The job as planning sees it: its window, effective bore, mark and lines."""
    return Need(
        job=job.reference,
        depot=job.depot.code,
        load_on=job.load_on,
        return_on=job.return_on,
        bore_mm=bore_of(job)[0],
        base_mark=job.base_mark,
        lines=tuple(
            Line(
                name=line.name,
                kind=line.kind.name,
                quantity=line.quantity,
                match=line.match,  # type: ignore[arg-type]
                counted=line.kind.counted,
                margin_days=line.kind.margin_days,
                turn_round_days=line.kind.turn_round_days,
            )
            for line in job.arrangement.lines.select_related("kind").order_by("position")
        ),
    )


def candidates(items: Iterable[Item], as_of: date, job: Job | None = None) -> list[Candidate]:
    """Items as candidates with their promises; the free quantity of a lot leaves out what other jobs were promised.

    Checks are read from the stored columns, or from the records up to `as_of` when that day is past.
    """
    listed = list(items)
    ids = [item.pk for item in listed]
    gates: dict[int, tuple[Gate, ...]]
    if as_of < timezone.localdate():
        gates = ports.judge.gates_at(listed, as_of)
    else:
        gates = {item.pk: item.gates for item in listed}
    promises: dict[int, list[Promise]] = defaultdict(list)
    counted_promised: dict[int, int] = {}
    for chunk in chunked(ids):
        held = Reservation.objects.filter(item_id__in=chunk, standing__in=HOLDING)
        rows = held.values_list("item_id", "job__reference", "starts", "ends", "standing")
        for item_id, reference, starts, ends, standing in rows:
            promises[item_id].append(Promise(reference, starts, ends, standing == Standing.ISSUED))
        lots = held.filter(counted=True, standing=Standing.PROMISED)
        if job is not None:
            lots = lots.exclude(job=job)
        counted_promised.update(lots.values_list("item_id").annotate(n=Sum("quantity")))
        if job is not None:
            # What is out on this very job has left the stock already, and counts as held by it.
            out = Reservation.objects.filter(
                item_id__in=chunk, job=job, counted=True, standing__in=[Standing.ISSUED, Standing.RETURNED]
            )
            for item_id, quantity, back in out.values_list("item_id", "quantity", "back_quantity"):
                counted_promised[item_id] = counted_promised.get(item_id, 0) - quantity + (back or 0)
    return [
        Candidate(
            tag=item.tag,
            kind=item.kind.name,
            depot=item.depot.code,
            state=item.state,  # type: ignore[arg-type]
            custody=item.custody,  # type: ignore[arg-type]
            use_by=item.use_by,
            gates=gates.get(item.pk, ()),
            bore_min_mm=plain(item.bore_min_mm),
            bore_max_mm=plain(item.bore_max_mm),
            mark=item.mark,
            promises=tuple(sorted(promises[item.pk], key=lambda p: (p.starts, p.job))),
            quantity=max(0, item.quantity - counted_promised.get(item.pk, 0)) if item.counted else 1,
            transit_to=item.transit_to.code if item.transit_to else "",
            arrives_on=item.arrives_on,
            state_why=item.state_why,
        )
        for item in listed
    ]


def free_of_lot(lot: Item, besides: Reservation | None = None) -> int:
    """How much of a lot nobody was promised; what `besides` was promised counts as free."""
    promised = Reservation.objects.filter(item=lot, standing=Standing.PROMISED)
    if besides is not None:
        promised = promised.exclude(pk=besides.pk)
    return max(0, lot.quantity - (promised.aggregate(n=Sum("quantity"))["n"] or 0))


def items_of_kinds(kinds: Iterable[Kind | int], depot_id: int | None = None) -> QuerySet[Item]:
    """Items of these kinds, at one depot (or on their way to it) or everywhere."""
    # Kinds and depots are few: read beside the items, each is one object that all of them share, and not made anew
    # for every row as a join would (5,000 items: a third of the time).
    found = Item.objects.filter(kind__in=kinds).prefetch_related("kind", "depot", "transit_to")
    if depot_id is not None:
        found = found.filter(Q(depot_id=depot_id) | Q(transit_to_id=depot_id))
    return found.order_by("tag")


def held_by(job: Job) -> list[Held]:
    """What the job's live reservations hold: promised and issued ones, and what is back already."""
    rows = job.reservations.filter(standing__in=[*HOLDING, Standing.RETURNED]).values_list(
        "line__name", "item__tag", "quantity"
    )
    return [Held(line, tag, quantity) for line, tag, quantity in rows.order_by("line__position", "item__tag")]


def kit_list_of(
    job: Job, as_of: date | None = None, all_depots: bool = False, held: Sequence[Held] | None = None
) -> KitList:
    """The kit list: the job's reservations, and the best free choice for what they leave open."""
    day = as_of or timezone.localdate()
    need = need_of(job)
    kinds = list(job.arrangement.lines.values_list("kind_id", flat=True))
    everywhere = candidates(items_of_kinds(kinds), day, job)
    here = [c for c in everywhere if c.depot == need.depot or c.transit_to == need.depot]
    elsewhere = [c for c in everywhere if c.depot != need.depot and c.transit_to != need.depot]
    return draw_up(
        need,
        everywhere if all_depots else here,
        day,
        all_depots=all_depots,
        held=tuple(held_by(job) if held is None else held),
        elsewhere=tuple(elsewhere),
    )


def chunked(rows: Sequence[T], size: int = 5000) -> Iterator[Sequence[T]]:
    """Parts short enough for one IN list on either engine."""
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def open_jobs(depots: Iterable[int] | None = None) -> QuerySet[Job]:
    found = Job.objects.filter(state__in=[JobState.PLANNED, JobState.OUT]).select_related(
        "depot", "arrangement"
    )
    return found if depots is None else found.filter(depot__in=depots)
