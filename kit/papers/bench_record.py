"""The test record: one check of one piece on A4, its readings, the figures computed, the verdict and who made it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from kit.papers.said import word
from kit.papers.stamp import Stamp, needs_text, needs_time_zone
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.wording import day, moment

Pairs = Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class PointRow:
    """One point of a calibration, as texts with the unit in the heading; empty where not read."""

    direction: str
    reference: str
    as_found: str
    found_error: str
    as_left: str
    left_error: str


@dataclass(frozen=True, slots=True)
class FileRow:
    """A file that belongs to the record; `sha256` in full, so that the file can be proved without the register."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class BenchRecord:
    """What the paper prints. `entry` is the number of the ledger entry that tells of the record, 0 if unknown.

    `verdict` and `as_left` are pass, fail or doubt; `as_left` is empty where nothing was adjusted. `standing` says
    what became of the record since (corrected, struck out), empty while it stands.
    """

    number: int
    tag: str
    kind: str
    check: str
    stamp: Stamp
    done_on: date
    verdict: str
    why: str
    recorded_at: datetime
    recorded_by: str
    by: str = ""
    done_at: datetime | None = None
    as_left: str = ""
    maker: str = ""
    serial: str = ""
    depot: str = ""
    rule: str = ""
    procedure: str = ""
    source: str = ""
    certificate: str = ""
    note: str = ""
    gauge: Pairs = ()
    readings: Pairs = ()
    figures: Pairs = ()
    points: Sequence[PointRow] = ()
    files: Sequence[FileRow] = ()
    entry: int = 0
    entry_hash: str = ""
    standing: str = ""

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")
        needs_text(self.check, "name of the check")
        needs_time_zone(self.recorded_at, "The time of recording")


def bench_record_pdf(record: BenchRecord) -> bytes:
    """The record as a tagged PDF (PDF/UA-1) for a mono A4 printer: one page, more only if its form is very long."""
    when = moment(record.done_at) if record.done_at else day(record.done_on)
    entry = f"{record.entry} · {record.entry_hash[:12]}" if record.entry else _("not found")
    data: dict[str, Plain] = {
        "tag": record.tag,
        "qr": qr_svg(record.tag),
        "kind": word(record.kind),
        "serial": record.serial,
        "maker": record.maker,
        "check": word(record.check),
        "verdict": _(record.verdict).upper() if record.verdict else "",
        "as_left": _(record.as_left).upper() if record.as_left else "",
        "why": word(record.why),
        "standing": word(record.standing),
        "about": [
            [_("Done on"), when],
            [_("Done by"), record.by],
            [_("Depot"), record.depot],
            [_("Procedure"), record.procedure],
            [_("Rule"), word(record.rule)],
            [_("Source"), word(record.source)],
            [_("Certificate"), record.certificate],
            [_("Recorded"), moment(record.recorded_at)],
            [_("By"), record.recorded_by],
            [_("Ledger entry"), entry],
        ],
        "note": record.note,
        "gauge": _pairs(record.gauge),
        "readings": _pairs(record.readings),
        "figures": _pairs(record.figures),
        "points": [
            [
                _(p.direction) if p.direction else "",
                p.reference,
                p.as_found,
                p.found_error,
                p.as_left,
                p.left_error,
            ]
            for p in record.points
        ],
        "files": [[one.name, one.sha256] for one in record.files],
        "loose_sheet": _("record %(n)s") % {"n": record.number},
    }
    title = _("Test record %(n)s: %(tag)s") % {"n": record.number, "tag": record.tag}
    return typeset("test_record", title, record.stamp, data)


def _pairs(pairs: Pairs) -> list[Plain]:
    return [[word(name), word(value)] for name, value in pairs]
