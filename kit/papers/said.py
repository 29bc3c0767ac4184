"""What a paper in the reader's language says of itself, and of days and moments. Reads the active language only."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from kit import sentences
from kit.days import date_format
from kit.papers.dossier import Dossier, Part
from kit.papers.stamp import Stamp


def printed_line(stamp: Stamp) -> str:
    return _("Printed %(at)s · revision %(n)s") % {"at": at(stamp.printed_at), "n": stamp.revision}


def page_words() -> tuple[str, str, str]:
    """What stands before the number of the page, before how many there are, and before the entry of the ledger."""
    return _("page"), _("of"), _("ledger")


def language() -> str:
    return (get_language() or "en")[:2]


def on(day: date | None) -> str:
    """`12 Nov 2026` in the reader's language; empty for none."""
    return date_format(day, "j M Y").replace(" ", "\u00a0") if day else ""


def at(moment: datetime | None) -> str:
    """`12 Nov 2026 06:10 GMT`: with its zone, because one hour comes twice when the clocks go back."""
    if moment is None:
        return ""
    local = timezone.localtime(moment)
    return f"{on(local.date())} {local:%H:%M}\u00a0{local.tzname()}"


def caution() -> str:
    return _(
        "Shows what is recorded. The network operator's procedure, local codes and licensed practice decide."
    )


def word(text: str) -> str:
    """A shipped name, or a sentence put together in English, in the reader's language; any other text as it is."""
    return str(sentences.said(text))


def in_language(paper: Dossier) -> Dossier:
    """The paper with such names and sentences said in its language; codes and hashes stay as they are."""
    return replace(
        paper,
        lead=[word(text) for text in paper.lead],
        banner_more=word(paper.banner_more),
        parts=[_part(part) for part in paper.parts],
    )


def _part(part: Part) -> Part:
    return replace(
        part,
        said=[word(text) for text in part.said],
        facts=[(name, word(value)) for name, value in part.facts],
        rows=[
            [text if column.mono else word(text) for text, column in zip(row, part.columns, strict=True)]
            for row in part.rows
        ],
    )
