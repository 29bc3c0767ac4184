"""What the store knows, in the words of planning: items as candidates, jobs as needs. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import TypeVar

from django.conf import settings
from django.db.models import Prefetch, Q, QuerySet, Sum
from django.utils import timezone

from kit.models import (
    HOLDING,
    Arrangement,
    Item,
    Job,
    JobState,
    Kind,
    LineSubstitute,
    PipeSize,
    Reservation,
    Standing,
)
from kit.planning import (
    Candidate,
    Gate,
    Held,
    KitList,
    Line,
    Mains,
    Need,
    OwnSize,
    Promise,
    Substitute,
    Written,
    draw_up,
    mains_of,
)
from kit.planning.as_slots import kinds_of
from kit.planning.kit_list import Mend
from kit.ports import ports

T = TypeVar("T")


def plain(mm: Decimal | None) -> Decimal | None:
    """The same length without the zeros that its column adds: sentences say 154.3 mm, not 154.300 mm."""
    return None if mm is None else Decimal(format(mm.normalize(), "f"))


def own_sizes() -> tuple[OwnSize, ...]:
    """The depot's own table of mains, as far as it is in force."""
    rows = PipeSize.objects.filter(withdrawn=False).order_by("material", "size")
    return tuple(
        OwnSize(material, size, plain(inside_mm), plain(outside_mm), plain(wall_mm), source)
        for material, size, inside_mm, outside_mm, wall_mm, source in rows.values_list(
            "material", "size", "inside_mm", "outside_mm", "wall_mm", "source"
        )
    )


def written_of(job: Job) -> Written:
    """What is written and measured of a job's main."""
    return Written(
        material=job.main_material,
        size=job.main_size,
        wall_class=job.main_sdr,
        wall_mm=plain(job.main_wall_mm),
        bore_mm=plain(job.bore_mm),
        far_bore_mm=plain(job.far_bore_mm),
        ovality_mm=plain(job.ovality_mm),
        lining_mm=plain(job.lining_mm),
    )


def mains_of_job(job: Job, own: Sequence[OwnSize] | None = None) -> Mains:
    """The main of a job, near and far; `own` is the depot's own table, read if it is not given."""
    sizes = own_sizes() if own is None and job.main_size else own or ()
    return mains_of(written_of(job), sizes, settings.BORE_WARNING_MM)


def bore_of(job: Job) -> tuple[Decimal | None, str, str | None]:
    """(bore_mm, source, warning): the measured bore wins; a warning when the two disagree by more than the setting."""
    mains = mains_of_job(job)
    return mains.near.bore_mm, mains.source, mains.warning


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


def lines_of(arrangement: Arrangement) -> tuple[Line, ...]:
    """The lines of an arrangement, in order, with their kinds' settings, assemblies and substitutes."""
    others = Prefetch("substitutes", LineSubstitute.objects.select_related("kind"))
    listed = arrangement.lines.select_related("kind").prefetch_related(others)
    return tuple(
        Line(
            name=line.name,
            kind=line.kind.name,
            quantity=line.quantity,
            match=line.match,  # type: ignore[arg-type]
            counted=line.kind.counted,
            margin_days=line.kind.margin_days,
            turn_round_days=line.kind.turn_round_days,
            side=line.side,  # type: ignore[arg-type]
            assembly=line.assembly,
            substitutes=tuple(
                Substitute(each.kind.name, each.rank, each.kind.margin_days, each.kind.turn_round_days)
                for each in line.substitutes.all()
            ),
        )
        for line in listed.order_by("position")
    )


def need_of(job: Job, lines: tuple[Line, ...] | None = None) -> Need:
    """The job as planning sees it: its window, mains, mark and lines, those of its arrangement unless given."""
    mains = mains_of_job(job)
    return Need(
        job=job.reference,
        depot=job.depot.code,
        load_on=job.load_on,
        return_on=job.return_on,
        bore_mm=mains.near.bore_mm,
        near=mains.near,
        far=mains.far,
        base_mark=job.base_mark,
        lines=lines_of(job.arrangement) if lines is None else lines,
    )


def needs_of(jobs: Iterable[Job]) -> dict[int, Need]:
    """The jobs as planning sees them, by key; the lines of an arrangement are read once for all its jobs."""
    lines: dict[int, tuple[Line, ...]] = {}
    found: dict[int, Need] = {}
    for job in jobs:
        if job.arrangement_id not in lines:
            lines[job.arrangement_id] = lines_of(job.arrangement)
        found[job.pk] = need_of(job, lines[job.arrangement_id])
    return found


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
            bore_margin_mm=plain(item.kind.bore_margin_mm) or Decimal(0),
            sized_by=item.kind.sized_by,  # type: ignore[arg-type]
            set_name=item.set_name,
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


def with_mates(items: Iterable[Item]) -> list[Item]:
    """These items and all others of their sets, whatever their kind, depot and state."""
    listed = list(items)
    known = {item.pk for item in listed}
    sets = sorted({item.set_name for item in listed if item.set_name})
    for chunk in chunked(sets):
        mates = Item.objects.filter(set_name__in=chunk).prefetch_related("kind", "depot", "transit_to")
        listed.extend(mate for mate in mates.order_by("tag") if mate.pk not in known)
    return listed


def held_by(job: Job) -> list[Held]:
    """What the job's live reservations hold: promised and issued ones, and what is back already."""
    rows = job.reservations.filter(standing__in=[*HOLDING, Standing.RETURNED]).values_list(
        "line__name", "item__tag", "quantity"
    )
    return [Held(line, tag, quantity) for line, tag, quantity in rows.order_by("line__position", "item__tag")]


def kit_list_of(
    job: Job,
    as_of: date | None = None,
    all_depots: bool = False,
    held: Sequence[Held] | None = None,
    asked: tuple[Need, Sequence[Candidate]] | None = None,
    mend: Mend = "remedies",
) -> KitList:
    """The kit list: the job's reservations, and the best free choice for what they leave open.

    `asked`: the job and the pieces for it, where they have been read already. `mend`: see `draw_up`.
    """
    day = as_of or timezone.localdate()
    need = asked[0] if asked else need_of(job)
    everywhere = list(asked[1]) if asked else candidates(items_for(need), day, job)
    here = [c for c in everywhere if c.depot == need.depot or c.transit_to == need.depot]
    elsewhere = [c for c in everywhere if c.depot != need.depot and c.transit_to != need.depot]
    return draw_up(
        need,
        everywhere if all_depots else here,
        day,
        all_depots=all_depots,
        held=tuple(held_by(job) if held is None else held),
        elsewhere=tuple(elsewhere),
        mend=mend,
    )


def items_for(need: Need) -> list[Item]:
    """What may be taken for the job, in every depot, and the other pieces of sets with it."""
    kinds = Kind.objects.filter(name__in=kinds_taken(need.lines)).values_list("pk", flat=True)
    return with_mates(items_of_kinds(list(kinds)))


def kinds_taken(lines: Iterable[Line]) -> set[str]:
    """The kinds that these lines ask for or take instead."""
    return {seen.kind for line in lines for _, seen in kinds_of(line)}


def chunked(rows: Sequence[T], size: int = 5000) -> Iterator[Sequence[T]]:
    """Parts short enough for one IN list on either engine."""
    for start in range(0, len(rows), size):
        yield rows[start : start + size]


def open_jobs(depots: Iterable[int] | None = None) -> QuerySet[Job]:
    found = Job.objects.filter(state__in=[JobState.PLANNED, JobState.OUT]).select_related(
        "depot", "arrangement"
    )
    return found if depots is None else found.filter(depot__in=depots)
