"""The test record of one inspection, filled from the register. Reads only."""

from __future__ import annotations

import json
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from inspections.gauges import gauge_standing
from inspections.models import Inspection
from inspections.record_values import figures_of, points_of, readings_of
from kit.models import LedgerEntry
from kit.papers.bench_record import BenchRecord, FileRow, PointRow
from kit.papers.said import on
from kit.papers.store_heads import stamp
from kit.stores.act import about, label


def bench_record_of(record: Inspection, printed_at: datetime | None = None) -> BenchRecord:
    """What the paper of this record prints. The same record printed later says the same, but for its standing."""
    item, version = record.item, record.version
    entry = entry_of(record)
    readings = [(str(name), str(value)) for name, value in readings_of(record)]
    figures = [(str(name), str(value)) for name, value in figures_of(record)]
    return BenchRecord(
        number=record.pk,
        tag=item.tag,
        kind=item.kind.name,
        check=record.check_done.name,
        stamp=stamp(1, printed_at),
        done_on=record.done_on,
        done_at=timezone.localtime(record.done_at) if record.done_at else None,
        verdict=record.verdict,
        as_left=record.as_left,
        why=record.why,
        recorded_at=timezone.localtime(record.recorded_at),
        recorded_by=record.recorded_by,
        by=record.by,
        maker=item.maker,
        serial=item.serial,
        depot=str(item.depot),
        rule=_("version %(n)s") % {"n": version.number} if version else "",
        procedure=version.procedure if version else "",
        source=version.source if version else "",
        certificate=record.certificate,
        note=record.note,
        gauge=_gauge(record),
        readings=readings,
        # A number that was read is no figure that was computed.
        figures=[pair for pair in figures if pair not in readings],
        points=[PointRow(**point) for point in points_of(record)],
        files=[FileRow(one.name, one.sha256) for one in record.attachments.order_by("added_at", "pk")],
        entry=entry.number if entry else 0,
        entry_hash=entry.hash if entry else "",
        standing=_standing(record),
    )


def entry_of(record: Inspection) -> LedgerEntry | None:
    """The ledger entry that tells of the record; None if none does, which the proof would find as well."""
    key = [label(Inspection), record.pk]
    rows = LedgerEntry.objects.filter(mentions__about=about(record.item), recorded_at=record.recorded_at)
    for entry in rows.order_by("number"):
        if any(row[:2] == key for row in json.loads(entry.body)["rows"]):
            return entry
    return None


def _gauge(record: Inspection) -> list[tuple[str, str]]:
    gauge = record.gauge
    if gauge is None:
        return []
    return [
        (_("Tag"), gauge.tag),
        (_("Kind"), gauge.kind.name),
        (_("Serial"), gauge.serial),
        (_("Maker"), gauge.maker),
        (_("Stood"), calibration_of(record, record.done_on)),
    ]


def calibration_of(record: Inspection, day: date) -> str:
    """How the gauge stood on the day of the test, and by which of its own records, as far as recorded up to now."""
    gauge = record.gauge
    assert gauge is not None
    standing = gauge_standing(gauge, day, record.item)
    last = (
        Inspection.objects.filter(item=gauge, done_on__lte=day, struck=False, corrections__isnull=True)
        .select_related("check_done")
        .order_by("-done_on", "-pk")
        .first()
    )
    said = "in calibration" if standing.state == "in calibration" else f"{standing.state}, see its look-back"
    if last is None:
        return said
    paper = f", certificate {last.certificate}" if last.certificate else ""
    return f"{said}: {last.check_done.name} of {last.done_on}, {last.verdict}{paper}"


def _standing(record: Inspection) -> str:
    correction = Inspection.objects.filter(corrects=record).first()
    if correction is not None:
        day = on(timezone.localdate(correction.recorded_at))
        if correction.struck:
            return _("DOES NOT COUNT: struck out on %(day)s") % {"day": day}
        return _("DOES NOT COUNT: replaced by record %(n)s on %(day)s") % {"n": correction.pk, "day": day}
    if record.struck:
        return _("STRIKES OUT record %(n)s") % {"n": record.corrects_id}
    return ""
