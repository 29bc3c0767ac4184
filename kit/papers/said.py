"""What a paper in the reader's language says of itself, and of days and moments. Reads the active language only."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

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
