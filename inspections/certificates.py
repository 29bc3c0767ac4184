"""Certificates of pieces: records that bear a number, a calibration by points, or a paper. Reads only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet

from inspections.files import PDF
from inspections.models import Attachment, Inspection, Method
from kit.models import Item


@dataclass(frozen=True, slots=True)
class Certificate:
    """A record that certifies, with its papers. `answered`: the record that stands in its place, if one does."""

    record: Inspection
    papers: Sequence[Attachment]
    answered: Inspection | None = None

    @property
    def stands(self) -> bool:
        return self.answered is None and not self.record.struck

    @property
    def readable(self) -> bool:
        """Whether its readings are here, so that a test record can be printed from them."""
        return bool(self.record.readings)


def certifying(records: QuerySet[Inspection]) -> QuerySet[Inspection]:
    """Those of these records that are a certificate, newest first, with what is shown of each."""
    papers = Attachment.objects.filter(content_type=PDF.content_type)
    return (
        records.filter(
            ~Q(certificate="")
            | Q(readings__method=Method.CALIBRATION)
            | Exists(papers.filter(inspection=OuterRef("pk")))
        )
        .select_related("check_done", "item")
        .prefetch_related("corrections", Prefetch("attachments", papers, to_attr="papers"))
        .order_by("-done_on", "-pk")
    )


def certificates_of(item: Item) -> list[Certificate]:
    """All of a piece, also those that do not count any more."""
    return [_certificate(record) for record in certifying(Inspection.objects.filter(item=item))]


def certificates_relied_on(days: Mapping[int, date]) -> list[Certificate]:
    """Of several pieces the newest certificate of each check, done by a day; by item id: until which day.

    By tag and check. What does not count as the register stands now was not relied on.
    """
    records = Inspection.objects.filter(item__in=days, struck=False, corrections__isnull=True)
    newest: dict[tuple[str, str], Certificate] = {}
    for record in certifying(records):
        if record.done_on <= days[record.item_id]:
            newest.setdefault((record.item.tag, record.check_done.name), _certificate(record))
    return [newest[key] for key in sorted(newest)]


def _certificate(record: Inspection) -> Certificate:
    return Certificate(record, record.papers, next(iter(record.corrections.all()), None))  # type: ignore[attr-defined]
