"""The disposal note: a piece withdrawn for good, with the cause, who decided it, and who saw it made unusable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from kit.papers.said import word
from kit.papers.stamp import Stamp, needs_text, needs_time_zone
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.wording import moment


@dataclass(frozen=True, slots=True)
class DisposalNote:
    """One piece withdrawn: `cause` is why for good; `case` and `set_aside` are empty if it never was set aside.

    `found` are findings and actions of its case, a sentence each, in order.
    """

    tag: str
    kind: str
    stamp: Stamp
    cause: str
    withdrawn_by: str
    withdrawn_at: datetime
    depot: str
    maker: str = ""
    serial: str = ""
    batch: str = ""
    case: str = ""
    set_aside: str = ""
    job: str = ""
    found: Sequence[str] = ()

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")
        needs_text(self.cause, "cause")
        needs_time_zone(self.withdrawn_at, "The time of withdrawal")


def disposal_note_pdf(note: DisposalNote) -> bytes:
    """The note as a tagged A4 PDF (PDF/UA-1), to be signed and filed."""
    data: dict[str, Plain] = {
        "tag": note.tag,
        "qr": qr_svg(note.tag),
        "kind": word(note.kind),
        "cause": word(note.cause),
        "facts": [
            [_("Serial"), note.serial],
            [_("Maker"), note.maker],
            [_("Batch"), note.batch],
            [_("Depot"), note.depot],
            [_("Withdrawn by"), note.withdrawn_by],
            [_("Withdrawn"), moment(note.withdrawn_at)],
            [_("Case"), note.case],
            [_("Job"), note.job],
        ],
        "set_aside": word(note.set_aside),
        "found": [word(each) for each in note.found],
    }
    return typeset("disposal_note", _("Disposal note %(tag)s") % {"tag": note.tag}, note.stamp, data)
