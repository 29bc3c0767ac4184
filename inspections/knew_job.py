"""What was known of a job at a moment, and what is known now of it as it stood then: its pieces and their fitness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from inspections.knew import Known, Learnt, seen
from kit.models import ArrangementLine, Item, Job, LedgerEntry, Reservation, Standing
from kit.stores.act import about, label
from kit.stores.fold import Folded, entries_about

OF_A_PROMISE = ("job_id", "item_id", "line_id", "counted", "quantity", "starts", "ends")
SHOWN = (Standing.PROMISED, Standing.BROKEN, Standing.ISSUED, Standing.RETURNED)


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of the job on one side: how its promise stood, and what was known of the piece itself."""

    tag: str
    line: str
    reservation: Reservation
    known: Known | None

    def lasts(self, day: date) -> bool:
        """Whether it was in date through the day, by what was known."""
        return self.known is not None and self.known.fit_through(day)


@dataclass(frozen=True, slots=True)
class Side:
    """The job as a row and its pieces, in the order of its lines."""

    job: Job
    pieces: Sequence[Piece]


@dataclass(frozen=True, slots=True)
class JobSeen:
    """The job then and now; None where it was not known. `learnt` is what bears on its pieces and came later."""

    then: Side | None
    now: Side | None
    learnt: Sequence[Learnt]


def job_seen(job: Job, moment: datetime) -> JobSeen:
    entries = entries_about([about(job)])
    then = Folded.of(entry for entry in entries if entry.recorded_at <= moment)
    now = _happened(entries, moment)
    ids = {row.item_id for side in (then, now) for row in _reservations(side, job)}
    items = list(Item.objects.filter(pk__in=ids).select_related("kind"))
    known = seen(items, moment)
    tags = {item.pk: item.tag for item in items}
    lines = {line.pk: line for line in ArrangementLine.objects.all()}

    def side(folded: Folded, of_then: bool) -> Side | None:
        row = folded.one(Job, job.pk)
        if row is None:
            return None
        pieces = [
            Piece(
                tags[held.item_id],
                lines[held.line_id].name,
                held,
                known[held.item_id].then if of_then else known[held.item_id].now,
            )
            for held in _reservations(folded, job)
        ]
        pieces.sort(key=lambda piece: (lines[piece.reservation.line_id].position, piece.tag))
        return Side(row, pieces)

    learnt = {one.entry.number: one for found in known.values() for one in found.learnt}
    late = [
        Learnt(entry, "late entry")
        for entry in entries
        if entry.recorded_at > moment and entry.happened_at <= moment
    ]
    learnt |= {one.entry.number: one for one in late}
    return JobSeen(side(then, True), side(now, False), [learnt[number] for number in sorted(learnt)])


def _reservations(folded: Folded, job: Job) -> list[Reservation]:
    return [row for row in folded.all(Reservation) if row.job_id == job.pk and row.standing in SHOWN]


def _happened(entries: Sequence[LedgerEntry], moment: datetime) -> Folded:
    """What had happened by the moment. A piece may be entered late as gone out before it was ever promised: of which
    job and line it is comes from whatever entry tells it.
    """
    folded = Folded.of(entry for entry in entries if entry.happened_at <= moment)
    whole = Folded.of(entries).rows.get(label(Reservation), {})
    rows = folded.rows.get(label(Reservation), {})
    for key, values in rows.items():
        rows[key] = {name: whole[key][name] for name in OF_A_PROMISE if name in whole[key]} | values
    return folded
