"""The issue note: what went out, to whom, by whom, and what went out short and why."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.papers.load_list import counted_facts, job_facts, named_job, named_line, piece_facts
from kit.papers.said import word
from kit.papers.typeset import Plain, typeset
from kit.papers.values import IssueNote, ShortIssue
from kit.papers.wording import moment, pieces_and_lots


def issue_note_pdf(note: IssueNote) -> bytes:
    """The issue note as a tagged A4 PDF (PDF/UA-1), for the crew and for the file."""
    short = len(note.shorts)
    words = ngettext("ISSUED SHORT: %(n)s line not filled", "ISSUED SHORT: %(n)s lines not filled", short)
    banner = words % {"n": short} if short else _("ISSUED IN FULL")
    data: dict[str, Plain] = {
        "number": note.number,
        "job": named_job(note.job),
        "facts": [
            *job_facts(note.job),
            [_("Issued by"), note.issued_by],
            [_("Received by"), note.received_by],
            [_("Issued"), moment(note.issued_at)],
        ],
        "banner": banner,
        "banner_more": _("%(what)s went out.") % {"what": pieces_and_lots(len(note.pieces), len(note.lots))},
        "loose_sheet": banner if note.shorts else "",
        "shorts": [_short_issue(short) for short in note.shorts],
        "pieces": [{**piece_facts(piece), "concession": word(piece.concession)} for piece in note.pieces],
        "lots": [counted_facts(lot) for lot in note.lots],
        "note": note.note,
    }
    title = _("Issue note %(number)s, job %(job)s") % {"number": note.number, "job": note.job.reference}
    return typeset("issue_note", title, note.stamp, data)


def _short_issue(short: ShortIssue) -> Plain:
    return {
        "line": named_line(short.line, short.kind),
        "needed": short.needed,
        "issued": short.issued,
        "reason": word(short.reason) or _("no reason recorded"),
        "agreed_by": short.agreed_by,
    }
