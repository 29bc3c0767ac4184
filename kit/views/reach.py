"""How far the pieces of a job reach, in words, on its page."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from kit.models import Item, Job
from kit.planning import NO_LIMIT
from kit.planning.reach import Reach
from kit.reach_picture import picture_of_reach
from kit.stores.reach import reach_of_job
from kit.tables.marks import short_day
from kit.tables.reasons_said import reason_said

MOST = 6


def shown_reach(job: Job, every: bool = False) -> dict[str, Any] | None:
    """What templates/job/reach.html shows, what gives out first on top, `every` piece or so many of them; nothing for a
    job that holds no piece."""
    found = reach_of_job(job)
    if not found:
        return None
    ending = [reach for reach in found if reach.until != NO_LIMIT]
    shown = ending if every else ending[:MOST]
    why = dict(Item.objects.filter(tag__in=[reach.tag for reach in shown]).values_list("tag", "fit_reason"))
    words = _in_words(found[0], job.return_on)
    return {
        "words": words,
        "picture": picture_of_reach(shown, job.load_on, job.return_on, words),
        "rows": [(reach, _until(reach), reason_said(why[reach.tag])) for reach in shown],
        "more": len(ending) - len(shown),
    }


def _until(reach: Reach) -> str:
    return short_day(reach.until) if reach.until else _("none")


def _in_words(first: Reach, return_on: date) -> str:
    if first.until is None or first.until < return_on:
        return _("%(tag)s does not hold for the return on %(day)s as it is.") % {
            "tag": first.tag,
            "day": short_day(return_on),
        }
    if first.until == NO_LIMIT:
        return _("No date and no other promise ends what it holds.")
    if first.until == return_on:
        return _(
            "What it holds lasts for the return on %(day)s and not a day longer: %(tag)s gives out first."
        ) % {
            "day": short_day(return_on),
            "tag": first.tag,
        }
    return _("All that it holds would last for a return until %(day)s; %(tag)s gives out first.") % {
        "day": short_day(first.until),
        "tag": first.tag,
    }
