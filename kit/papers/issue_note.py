"""The issue note: what went out, to whom, by whom, and what went out short and why."""

from __future__ import annotations

from kit.papers.load_list import counted_facts, job_facts, named_line, piece_facts
from kit.papers.typeset import Plain, typeset
from kit.papers.values import IssueNote, ShortIssue
from kit.papers.wording import counted, moment


def issue_note_pdf(note: IssueNote) -> bytes:
    """The issue note as a tagged A4 PDF (PDF/UA-1), for the crew and for the file."""
    lines_short = counted(len(note.shorts), "line")
    banner = f"ISSUED SHORT: {lines_short} not filled" if note.shorts else "ISSUED IN FULL"
    out = counted(len(note.pieces), "piece")
    if note.lots:
        out += f" and {counted(len(note.lots), 'lot')} of counted stock"
    data: dict[str, Plain] = {
        "number": note.number,
        "job_reference": note.job.reference,
        "facts": [
            *job_facts(note.job),
            ["Issued by", note.issued_by],
            ["Received by", note.received_by],
            ["Issued", moment(note.issued_at)],
        ],
        "banner": banner,
        "banner_more": f"{out} went out.",
        "loose_sheet": banner if note.shorts else "",
        "shorts": [_short_issue(short) for short in note.shorts],
        "pieces": [{**piece_facts(piece), "concession": piece.concession} for piece in note.pieces],
        "lots": [counted_facts(lot) for lot in note.lots],
        "note": note.note,
    }
    return typeset("issue_note", f"Issue note {note.number}, job {note.job.reference}", note.stamp, data)


def _short_issue(short: ShortIssue) -> Plain:
    return {
        "line": named_line(short.line, short.kind),
        "needed": short.needed,
        "issued": short.issued,
        "reason": short.reason or "no reason recorded",
        "agreed_by": short.agreed_by,
    }
