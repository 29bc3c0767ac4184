"""The return note: how each piece came back, what was used up, and where each piece goes now."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.papers.load_list import job_facts, named_job, named_line
from kit.papers.said import word
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.values import NextStep, Outcome, ReturnedPiece, ReturnNote
from kit.papers.wording import moment, pieces

# What needs doing first stands first.
_GROUPS = {
    NextStep.QUARANTINE: gettext_lazy("Set aside, to quarantine"),
    NextStep.LOOK_FOR: gettext_lazy("Missing, to be found"),
    NextStep.AWAITING_CHECK: gettext_lazy("Awaiting a check, not to go out before it"),
    NextStep.TO_STORE: gettext_lazy("Back to store"),
}


def return_note_pdf(note: ReturnNote) -> bytes:
    """The return note as a tagged A4 PDF (PDF/UA-1), pieces grouped by where they go."""
    banner = _banner(note)
    data: dict[str, Plain] = {
        "number": note.number,
        "job": named_job(note.job),
        "facts": [
            *job_facts(note.job),
            [_("Handed in by"), note.handed_in_by],
            [_("Taken by"), note.taken_back_by],
            [_("Taken back"), moment(note.taken_back_at)],
        ],
        "banner": banner,
        "banner_more": _tally(note),
        "loose_sheet": banner,
        "groups": _groups(note),
        "lots": [
            {
                "line": named_line(lot.line, lot.kind),
                "lot": lot.lot,
                "issued": lot.issued,
                "returned": lot.returned,
                "used": lot.used,
            }
            for lot in note.lots
        ],
        "still_out": [
            {"tag": piece.tag, "line": named_line(piece.line, piece.kind)} for piece in note.still_out
        ],
        "note": note.note,
    }
    title = _("Return note %(number)s, job %(job)s") % {"number": note.number, "job": note.job.reference}
    return typeset("return_note", title, note.stamp, data)


def _banner(note: ReturnNote) -> str:
    if note.still_out:
        return _("PART RETURN: %(pieces)s still on site") % {"pieces": pieces(len(note.still_out))}
    missing = sum(piece.outcome is Outcome.MISSING for piece in note.pieces)
    if missing:
        return _("RETURNED SHORT: %(pieces)s missing") % {"pieces": pieces(missing)}
    return _("RETURNED: %(pieces)s") % {"pieces": pieces(len(note.pieces))}


def _tally(note: ReturnNote) -> str:
    tally = {outcome: sum(piece.outcome is outcome for piece in note.pieces) for outcome in Outcome}
    return ", ".join(f"{number} {_(outcome.value)}" for outcome, number in tally.items() if number)


def _groups(note: ReturnNote) -> list[Plain]:
    groups: list[Plain] = []
    for step, heading in _GROUPS.items():
        going = [piece for piece in note.pieces if piece.next_step is step]
        if going:
            name = f"{heading}: {pieces(len(going))}"
            groups.append({"name": name, "pieces": [_returned(piece) for piece in going]})
    return groups


def _returned(piece: ReturnedPiece) -> Plain:
    return {
        "tag": piece.tag,
        "qr": qr_svg(piece.tag),
        "serial": piece.serial,
        "maker": piece.maker,
        "kind": word(piece.kind),
        "line": "" if piece.line == piece.kind else word(piece.line),
        "goes_with": piece.goes_with,
        "outcome": _(piece.outcome.value).upper(),
        "next_step": _(piece.next_step.value),
        "next_detail": word(piece.next_detail),
        "note": piece.note,
    }
