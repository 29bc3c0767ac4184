"""Plan a job, change it (above all its window), cancel it; arrangements with versions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from kit.models import (
    HOLDING,
    Arrangement,
    ArrangementLine,
    Deed,
    Job,
    JobState,
    Kind,
    Reservation,
    Standing,
)
from kit.stores.act import Act, NotAllowed
from kit.stores.refit import propose_substitutes, why_not
from kit.stores.reserve import let_go_all, refuse_ended
from kit.stores.windows import window

JOB_DETAILS = (
    "depot",
    "site",
    "load_on",
    "return_on",
    "main_material",
    "main_size",
    "main_sdr",
    "main_wall_mm",
    "bore_mm",
    "base_mark",
    "arrangement",
)


def plan_job(act: Act, job: Job) -> Job:
    """Enter a new job."""
    refuse_backward(job)
    made = act.create(job)
    act.tell(Deed.PLANNED, [job, job.depot], facts={"load_on": job.load_on, "return_on": job.return_on})
    return made


def change_job(act: Act, job: Job, note: str = "", **details: Any) -> bool:
    """Change a job and re-judge all that is promised to it at once. True if anything differs.

    A promise that does not hold in the new window is flagged with a proposed substitute. Pieces that are out stay
    out, so promises of other jobs that an extension runs into are the ones that break.
    """
    unknown = set(details) - set(JOB_DETAILS)
    if unknown:
        raise NotAllowed(f"{', '.join(sorted(unknown))} of a job cannot be changed here.")
    before = {name: str(getattr(job, name)) for name in details}
    for name, value in details.items():
        if canonical_differs(job, name, value):
            break
    else:
        return False
    refuse_ended(job)
    old_lines = {line.pk: line for line in job.arrangement.lines.all()}
    for name, value in details.items():
        setattr(job, name, value)
    refuse_backward(job)
    changed = Job.objects.get(pk=job.pk)
    act.change(changed, **details, revision=changed.revision + 1)
    job.revision = changed.revision
    facts = {
        name: [before[name], str(value)] for name, value in details.items() if before[name] != str(value)
    }
    act.tell(Deed.MOVED, [changed], note=note, facts=facts)
    if "arrangement" in facts:
        _follow_arrangement(act, changed, old_lines)
    _follow_window(act, changed)
    return True


def canonical_differs(job: Job, name: str, value: Any) -> bool:
    return bool(getattr(job, name) != value)


def _follow_window(act: Act, job: Job) -> None:
    broken: list[Reservation] = []
    displaced: list[Reservation] = []
    listed = job.reservations.filter(standing__in=[*HOLDING, Standing.BROKEN]).select_related(
        "item__kind", "item__depot", "item__transit_to", "line__kind", "job__depot", "job__arrangement"
    )
    for reservation in listed:
        starts, ends = window(job, reservation.item.kind)
        if reservation.standing == Standing.ISSUED:
            displaced.extend(_make_way(act, reservation, ends))
            act.change(reservation, starts=starts, ends=ends, why=why_not(act, reservation))
        else:
            why = why_not(act, reservation)
            if why:
                act.change(reservation, starts=starts, ends=ends, standing=Standing.BROKEN, why=why)
                broken.append(reservation)
            else:
                act.change(
                    reservation, starts=starts, ends=ends, standing=Standing.PROMISED, why="", proposed=None
                )
    if act.pending:
        act.tell(
            Deed.BROKE if broken else Deed.MOVED,
            [job, *(r.item for r in broken)],
            note=" ".join(f"{r.item}: {r.why}" for r in broken)[:2000],
        )
    # Only now do all windows stand as they will, so that a substitute is not one of the pieces just lost.
    propose_substitutes(act, [*broken, *displaced])


def _make_way(act: Act, out: Reservation, ends: date) -> list[Reservation]:
    """Break promises of other jobs that an item still on site runs into; gives the broken ones."""
    if out.counted:
        return []
    others = (
        Reservation.objects.filter(
            item=out.item, standing=Standing.PROMISED, starts__lte=ends, ends__gte=out.starts
        )
        .exclude(pk=out.pk)
        .select_related("job__depot", "job__arrangement", "line__kind", "item__kind")
    )
    broken = []
    for other in others:
        why = f"{out.item} is out on {out.job}, which now runs to {ends.isoformat()}."
        act.change(other, standing=Standing.BROKEN, why=why)
        act.tell(Deed.BROKE, [out.item, other.job, out.job], note=why)
        broken.append(other)
    return broken


def _follow_arrangement(act: Act, job: Job, old_lines: dict[int, ArrangementLine]) -> None:
    """Carry reservations over to the lines of the same name and kind; the others are let go."""
    new = {(line.name, line.kind_id): line for line in job.arrangement.lines.all()}
    for reservation in job.reservations.filter(standing__in=[*HOLDING, Standing.BROKEN]).select_related(
        "item"
    ):
        old = old_lines.get(reservation.line_id)
        line = new.get((old.name, old.kind_id)) if old else None
        if line is not None:
            act.change(reservation, line=line)
        elif reservation.standing == Standing.ISSUED:
            raise NotAllowed(
                f"{reservation.item} is out on {job} for a line that the new arrangement does not have."
            )
        else:
            act.change(
                reservation,
                standing=Standing.RELEASED,
                why="the new arrangement has no such line",
                proposed=None,
            )
    if act.pending:
        act.tell(Deed.MOVED, [job], note=f"now by {job.arrangement}")


def cancel_job(act: Act, job: Job, why: str) -> None:
    """Cancel a job of which nothing is out; what was promised to it is let go."""
    refuse_ended(job)
    if not why.strip():
        raise NotAllowed("Say why the job is cancelled.")
    if job.reservations.filter(standing=Standing.ISSUED).exists():
        raise NotAllowed(f"Kit of {job} is on site: take it back before the job is cancelled.")
    let_go_all(act, job, f"job cancelled: {why.strip()}")
    job = Job.objects.get(pk=job.pk)
    act.change(job, state=JobState.CANCELLED)
    act.tell(Deed.CANCELLED, [job], note=why)


def refuse_backward(job: Job) -> None:
    if job.return_on < job.load_on:
        raise NotAllowed(f"{job} would be back on {job.return_on}, before it is loaded on {job.load_on}.")


@dataclass(frozen=True, slots=True)
class LineSpec:
    """One line of an arrangement to be: `match` is any, bore, mark or bore+mark."""

    name: str
    kind: Kind
    quantity: int
    match: str = "any"
    note: str = ""


def set_arrangement(
    act: Act, name: str, lines: Sequence[LineSpec], source: str = "", note: str = ""
) -> tuple[Arrangement, bool]:
    """The current version of the arrangement if it has these lines in this order, else a new version with them.

    Gives (arrangement, whether a version was made). Jobs keep the version they were planned with.
    """
    current = Arrangement.objects.filter(name=name, current=True).first()
    wanted = [(line.name, line.kind.pk, line.quantity, line.match, line.note) for line in lines]
    if current is not None:
        have = list(
            current.lines.order_by("position").values_list("name", "kind_id", "quantity", "match", "note")
        )
        if have == wanted:
            return current, False
        act.change(current, current=False)
    made = act.create(
        Arrangement(
            name=name,
            version=current.version + 1 if current else 1,
            source=source or (current.source if current else ""),
            note=note or (current.note if current else ""),
        )
    )
    act.create_many(
        [
            ArrangementLine(
                arrangement=made,
                position=position,
                name=line.name,
                kind=line.kind,
                quantity=line.quantity,
                match=line.match,
                note=line.note,
            )
            for position, line in enumerate(lines, 1)
        ]
    )
    act.tell(Deed.ARRANGED, [f"arrangement:{name}"], note=f"version {made.version}")
    return made, True
