"""The transfer note: what goes to another depot, with its last inspections, and the two who sign for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from kit.papers.load_list import counted_facts, piece_facts
from kit.papers.said import word
from kit.papers.stamp import Stamp, needs_text
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.values import CountedLot, Piece
from kit.papers.wording import day, pieces_and_lots, weekday


@dataclass(frozen=True, slots=True)
class LastInspection:
    """One check of a piece as it was known when the piece left; `done_on` None: never done."""

    check: str
    done_on: date | None
    verdict: str
    due_on: date | None
    certificate: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class SentPiece:
    """A piece of the consignment with what is known of its checks; `outcome` is empty while it is on the way."""

    piece: Piece
    inspections: Sequence[LastInspection] = ()
    outcome: str = ""


@dataclass(frozen=True, slots=True)
class SentLot:
    """A quantity of a lot; the lot's name is the label that travels with it. `part_of` is the lot it was taken from."""

    lot: CountedLot
    part_of: str = ""
    outcome: str = ""


@dataclass(frozen=True, slots=True)
class TransferNote:
    """A consignment in the order of its tags. `code` is what the QR code of the note reads."""

    number: str
    code: str
    stamp: Stamp
    leaves: str
    to: str
    sent_on: date
    arrives_on: date
    sent_by: str
    pieces: Sequence[SentPiece]
    lots: Sequence[SentLot] = ()
    carrier: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        needs_text(self.number, "number of the transfer note")
        needs_text(self.code, "code of the transfer note")


def transfer_note_pdf(note: TransferNote) -> bytes:
    """The note as a tagged A4 PDF (PDF/UA-1): it goes with the van, is ticked and signed, and stays with the kit."""
    goes = pieces_and_lots(len(note.pieces), len(note.lots))
    way = _("%(leaves)s to %(to)s") % {"leaves": note.leaves, "to": note.to}
    data: dict[str, Plain] = {
        "number": note.number,
        "qr": qr_svg(note.code),
        "tag": note.code,
        "way": way,
        "facts": [
            [_("Sent on"), weekday(note.sent_on)],
            [_("Expected"), weekday(note.arrives_on)],
            [_("Sent by"), note.sent_by],
            [_("Carried by"), note.carrier],
        ],
        "loose_sheet": goes,
        "goes": goes,
        "pieces": [_piece(sent, note.sent_on) for sent in note.pieces],
        "lots": [_lot(sent) for sent in note.lots],
        "note": note.note,
    }
    title = _("Transfer note %(number)s, %(way)s") % {"number": note.number, "way": way}
    return typeset("transfer_note", title, note.stamp, data)


def _piece(sent: SentPiece, sent_on: date) -> Plain:
    until = sent.piece.fit_until
    return {
        **piece_facts(sent.piece),
        "caution": _("out of date when sent") if until is not None and until < sent_on else "",
        "inspections": [_inspection(one) for one in sent.inspections],
        "outcome": word(sent.outcome),
    }


def _inspection(one: LastInspection) -> Plain:
    done = (
        f"{_(one.verdict) if one.verdict else _('done')} {day(one.done_on)}"
        if one.done_on
        else _("never done")
    )
    due = _("due %(day)s") % {"day": day(one.due_on)} if one.due_on else _("due before it goes out")
    known = ", ".join(part for part in (one.certificate, one.by) if part)
    return {"check": word(one.check), "done": f"{done}, {known}" if known else done, "due": due}


def _lot(sent: SentLot) -> Plain:
    facts = counted_facts(sent.lot)
    assert isinstance(facts, dict)
    return {
        **facts,
        "tag": sent.lot.lot,
        "qr": qr_svg(sent.lot.lot),
        "part_of": _("part of %(lot)s") % {"lot": sent.part_of} if sent.part_of else "",
        "outcome": sent.outcome,
    }
