"""What the evidence sheet of a job is written from, read once: its kit as issued, what was known then, the entries."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from inspections.knew import Known, Seen, seen
from inspections.models import Inspection
from inspections.told_records import (
    entries_of_records,
    records_of,
)
from kit.models import Deed, Job, LedgerEntry, Reservation
from kit.stores import NotAllowed
from kit.stores.fold import entries_about


@dataclass
class Gathered:
    """What the parts are written from; `relied` gathers the records that decided on the day."""

    job: Job
    out: list[Reservation]
    issues: dict[str, LedgerEntry]
    returns: dict[str, LedgerEntry]
    of_job: list[LedgerEntry]
    known: dict[int, Seen]
    records: dict[int, Inspection]
    entries: dict[int, LedgerEntry]
    relied: dict[int, Inspection] = field(default_factory=dict)

    @property
    def pieces(self) -> list[Reservation]:
        return [row for row in self.out if not row.counted]


def gather(job: Job) -> Gathered:
    out = list(
        job.reservations.filter(issued_on__isnull=False)
        .select_related("item__kind", "item__depot", "line")
        .order_by("line__position", "item__tag")
    )
    if not out:
        raise NotAllowed(
            _("Nothing has been issued to %(job)s yet, so there is no evidence of it: issue its kit first.")
            % {"job": job}
        )
    of_job = list(
        LedgerEntry.objects.filter(mentions__about=f"job:{job.reference}")
        .prefetch_related("corrections")
        .order_by("number")
    )
    stand = [entry for entry in of_job if all(c.deed != Deed.UNDONE for c in entry.corrections.all())]
    issues = _by_tag(stand, Deed.ISSUED)
    items = {row.item_id: row.item for row in out if not row.counted}
    moments: dict[datetime, list[int]] = {}
    for row in out:
        if not row.counted:
            entry = issues.get(row.item.tag)
            moments.setdefault(entry.happened_at if entry else _noon(row.issued_on), []).append(row.item_id)
    known: dict[int, Seen] = {}
    for moment, ids in moments.items():
        known |= seen([items[pk] for pk in ids], moment)
    listed = records_of(items.values())
    return Gathered(
        job,
        out,
        issues,
        _by_tag(stand, Deed.TAKEN_BACK),
        of_job,
        known,
        {record.pk: record for record in listed},
        entries_of_records(entries_about(f"item:{item.tag}" for item in items.values())),
    )


def _noon(day: date | None) -> datetime:
    assert day is not None
    return timezone.make_aware(datetime(day.year, day.month, day.day, 12))


def _by_tag(entries: Sequence[LedgerEntry], deed: Deed) -> dict[str, LedgerEntry]:
    return {
        name.removeprefix("item:"): entry
        for entry in entries
        if entry.deed == deed
        for name in json.loads(entry.body)["about"]
        if name.startswith("item:")
    }


def then(sheet: Gathered, row: Reservation) -> Known | None:
    found = sheet.known.get(row.item_id)
    return found.then if found else None


def met(sheet: Gathered, row: Reservation) -> bool:
    known = then(sheet, row)
    return known is not None and known.fit
