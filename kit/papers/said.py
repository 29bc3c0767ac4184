"""What a paper in the reader's language says of itself, and of days and moments. Reads the active language only."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from kit import sentences
from kit.papers.wording import day as worded_day


def language() -> str:
    return (get_language() or "en")[:2]


def on(day: date | None) -> str:
    """`12 Nov 2026` in the reader's language; empty for none."""
    return worded_day(day) if day else ""


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
