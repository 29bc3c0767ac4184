"""What is promised follows its job and its kind: when a window, an arrangement or the turn-round days move."""

from __future__ import annotations

from datetime import date

from kit.models import HOLDING, OPEN, ArrangementLine, Deed, Job, Kind, Reservation, Standing
from kit.stores.act import Act, NotAllowed
from kit.stores.rejudge import (
    LINE_IS_FULL,
    lack_of_lot,
    line_is_full,
    open_reservations,
    reasons_against,
    rejudge,
)
from kit.stores.windows import window


def follow_job(act: Act, job: Job) -> None:
    """Judge all that the job holds by its window, arrangement and main as they are now.

    Each reservation changes once, with its line, window and standing together: half-way the database would refuse
    it. Raises NotAllowed if a piece went out for a line that the arrangement does not have.
    """
    touched = list(job.reservations.filter(standing__in=OPEN).values_list("item_id", flat=True))
    lines = _lines_to_follow(act, job)
    held = list(open_reservations().filter(job=job))
    displaced: list[Reservation] = []
    for out in (each for each in held if each.standing == Standing.ISSUED):
        starts, ends = window(job, out.item.kind, out.issued_on)
        displaced.extend(_make_way(act, out, starts, ends))
        act.change(out, line=lines[out.pk], starts=starts, ends=ends)
    against = reasons_against(act.today, held)
    broken: list[Reservation] = []
    for reservation in held:
        why = against[reservation.pk] or lack_of_lot(reservation)
        if reservation.standing == Standing.ISSUED:
            act.change(reservation, why=why)
            continue
        line = lines[reservation.pk]
        starts, ends = window(job, reservation.item.kind)
        if reservation.standing == Standing.BROKEN and line_is_full(reservation, line):
            why = why or LINE_IS_FULL
        if why:
            broken.append(reservation)
        act.change(
            reservation,
            line=line,
            starts=starts,
            ends=ends,
            standing=Standing.BROKEN if why else Standing.PROMISED,
            why=why,
            proposed=reservation.proposed if why else None,
        )
    if act.pending:
        act.tell(
            Deed.BROKE if broken else Deed.MOVED,
            [job, *(r.item for r in broken)],
            note=" ".join(f"{r.item}: {r.why}" for r in broken)[:2000],
        )
    # Only now do all windows stand as they will: others may hold again, and no substitute is one just lost.
    rejudge(act, sorted({*touched, *(r.item_id for r in displaced)}))


def _lines_to_follow(act: Act, job: Job) -> dict[int, ArrangementLine]:
    """For each open reservation the line of the job's arrangement that has the same name and kind, if it still takes
    the kind of the piece.

    What is only promised for a line that is gone is let go.
    """
    by_name = {
        (line.name, line.kind_id, kind_id): line
        for line in job.arrangement.lines.prefetch_related("substitutes")
        for kind_id in (line.kind_id, *(other.kind_id for other in line.substitutes.all()))
    }
    found: dict[int, ArrangementLine] = {}
    held = job.reservations.filter(standing__in=[*OPEN, Standing.RETURNED]).select_related("item", "line")
    for reservation in held:
        line = by_name.get((reservation.line.name, reservation.line.kind_id, reservation.item.kind_id))
        if line is not None:
            found[reservation.pk] = line
            if reservation.standing == Standing.RETURNED:
                act.change(reservation, line=line)
        elif reservation.standing in (Standing.ISSUED, Standing.RETURNED):
            raise NotAllowed(
                f"{reservation.item} went out to {job} for a line that the new arrangement does not have: "
                f"{reservation.line.name}. Keep that line, or plan another job."
            )
        else:
            why = f"{job.arrangement} has no such line"
            act.change(reservation, standing=Standing.RELEASED, why=why, proposed=None)
            act.tell(Deed.LET_GO, [job, reservation.item], note=f"{reservation.line.name}: {why}")
    return found


def _make_way(act: Act, holder: Reservation, starts: date, ends: date) -> list[Reservation]:
    """Break promises of other jobs that a piece kept from `starts` to `ends` runs into; gives the broken ones."""
    if holder.counted:
        return []
    others = (
        Reservation.objects.filter(
            item=holder.item, standing=Standing.PROMISED, starts__lte=ends, ends__gte=starts
        )
        .exclude(pk=holder.pk)
        .select_related("job", "item")
    )
    broken = []
    for other in others:
        what = "out on" if holder.standing == Standing.ISSUED else "promised to"
        why = f"{holder.item} is {what} {holder.job}, which now runs to {ends.isoformat()}."
        act.change(other, standing=Standing.BROKEN, why=why)
        act.tell(Deed.BROKE, [holder.item, other.job, holder.job], note=why)
        broken.append(other)
    return broken


def follow_turn_round(act: Act, kind: Kind) -> None:
    """Move the windows of all that is held of a kind when its turn-round days have changed.

    Where two of a piece come to overlap, the job that loads later gives way, unless the piece is out on it.
    """
    held = open_reservations().filter(item__kind=kind, standing__in=HOLDING)
    for key in list(held.values_list("pk", flat=True)):
        reservation = open_reservations().get(pk=key)
        if reservation.standing == Standing.BROKEN:
            continue  # it made way for an earlier one
        starts, ends = window(reservation.job, kind, reservation.issued_on)
        out = Reservation.objects.filter(
            item=reservation.item, standing=Standing.ISSUED, counted=False, starts__lte=ends, ends__gte=starts
        ).exclude(pk=reservation.pk)
        if reservation.standing == Standing.ISSUED or not out.exists():
            _make_way(act, reservation, starts, ends)
        why = reasons_against(act.today, [reservation])[reservation.pk] or lack_of_lot(reservation)
        if why and reservation.standing == Standing.PROMISED:
            act.change(reservation, standing=Standing.BROKEN, why=why)
        else:
            act.change(reservation, starts=starts, ends=ends, why=why)
    if act.pending:
        act.tell(Deed.MOVED, [f"kind:{kind.name}"], note=f"turn-round days of {kind}: {kind.turn_round_days}")
    rejudge(act, list(kind.items.values_list("pk", flat=True)))
