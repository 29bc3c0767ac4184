"""The return note: how each piece came back, what was used up, and where each piece goes now."""

from __future__ import annotations

from kit.papers.load_list import job_facts, named_line
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.values import NextStep, Outcome, ReturnedPiece, ReturnNote
from kit.papers.wording import counted, moment

# What needs doing first stands first.
_GROUPS = {
    NextStep.QUARANTINE: "Set aside, to quarantine",
    NextStep.LOOK_FOR: "Missing, to be found",
    NextStep.AWAITING_CHECK: "Awaiting a check, not to go out before it",
    NextStep.TO_STORE: "Back to store",
}


def return_note_pdf(note: ReturnNote) -> bytes:
    """The return note as a tagged A4 PDF (PDF/UA-1), pieces grouped by where they go."""
    banner = _banner(note)
    data: dict[str, Plain] = {
        "number": note.number,
        "job_reference": note.job.reference,
        "facts": [
            *job_facts(note.job),
            ["Handed in by", note.handed_in_by],
            ["Taken by", note.taken_back_by],
            ["Taken back", moment(note.taken_back_at)],
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
    return typeset("return_note", f"Return note {note.number}, job {note.job.reference}", note.stamp, data)


def _banner(note: ReturnNote) -> str:
    if note.still_out:
        return f"PART RETURN: {counted(len(note.still_out), 'piece')} still on site"
    missing = sum(piece.outcome is Outcome.MISSING for piece in note.pieces)
    if missing:
        return f"RETURNED SHORT: {counted(missing, 'piece')} missing"
    return f"RETURNED: {counted(len(note.pieces), 'piece')}"


def _tally(note: ReturnNote) -> str:
    tally = {outcome: sum(piece.outcome is outcome for piece in note.pieces) for outcome in Outcome}
    return ", ".join(f"{number} {outcome.value}" for outcome, number in tally.items() if number)


def _groups(note: ReturnNote) -> list[Plain]:
    groups: list[Plain] = []
    for step, heading in _GROUPS.items():
        pieces = [piece for piece in note.pieces if piece.next_step is step]
        if pieces:
            name = f"{heading}: {counted(len(pieces), 'piece')}"
            groups.append({"name": name, "pieces": [_returned(piece) for piece in pieces]})
    return groups


def _returned(piece: ReturnedPiece) -> Plain:
    return {
        "tag": piece.tag,
        "qr": qr_svg(piece.tag),
        "serial": piece.serial,
        "maker": piece.maker,
        "kind": piece.kind,
        "line": "" if piece.line == piece.kind else piece.line,
        "goes_with": piece.goes_with,
        "outcome": piece.outcome.value.upper(),
        "next_step": piece.next_step.value,
        "next_detail": piece.next_detail,
        "note": piece.note,
    }
