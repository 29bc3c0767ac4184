"""When the pieces of a kind or a batch run out: a picture, and beside it a table that leads to the register."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db.models import Count, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.days import date_format
from kit.forms.register_filter import IN_USE
from kit.links import register_url
from kit.models import Item
from kit.pictures_of_numbers import Bar, picture_of_bars
from kit.planning import NO_LIMIT
from kit.planning.run_out import Month, RunOut, run_out

MONTHS = 12


def shown_run_out(items: QuerySet[Item], narrowed: dict[str, str], today: date) -> dict[str, Any] | None:
    """What templates/pieces/run_out.html shows; nothing where no piece is in use.

    `narrowed` are the filters of the register that give these items.
    """
    counts = items.in_use().order_by().values_list("fit_until").annotate(number=Count("pk"))  # type: ignore[attr-defined]
    found = run_out(counts, today, MONTHS)
    if not found.number:
        return None
    words = _in_words(found)
    bars = [Bar(date_format(month.first, "M y"), month.number) for month in found.months if month.first]
    return {
        "words": words,
        "picture": picture_of_bars(
            [*bars, Bar(_("later"), found.later.number)],
            _("When its pieces run out, month by month"),
            words,
            _("pieces in use, by their last day"),
            name="run-out",
        ),
        "rows": list(_rows(found, {**narrowed, "state": IN_USE[0]})),
    }


def _rows(found: RunOut, narrowed: dict[str, str]) -> Any:
    """(what, how many, address); what is counted nowhere is left out, but for the months."""
    if found.not_fit:
        yield _("not in fettle today"), found.not_fit, register_url({**narrowed, "fettle": "no"})
    for month in found.months:
        yield _month(month), month.number, register_url({**narrowed, **_between(month)})
    if found.later.number:
        yield _("later"), found.later.number, register_url({**narrowed, **_between(found.later)})
    if found.unlimited:
        last = NO_LIMIT.isoformat()
        yield _("no date limits it"), found.unlimited, register_url({**narrowed, "fit_from": last})


def _month(month: Month) -> str:
    return date_format(month.first, "F Y") if month.first else ""


def _between(month: Month) -> dict[str, str]:
    bounds = (("fit_from", month.first), ("fit_before", month.after))
    return {name: day.isoformat() for name, day in bounds if day}


def _in_words(found: RunOut) -> str:
    """How many run out in the months shown, and when most do."""
    ahead = sum(month.number for month in found.months)
    if not ahead:
        return _("None of its pieces runs out within twelve months.")
    most = max(found.months, key=lambda month: month.number)
    said = ngettext(
        "%(n)s piece in use runs out within twelve months.",
        "%(n)s pieces in use run out within twelve months.",
        ahead,
    ) % {"n": ahead}
    return f"{said} " + _("Most in %(month)s: %(n)s.") % {"month": _month(most), "n": most.number}
