"""How the pieces of a kind or of a batch stand: tallies, each with the register narrowed to just those."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext as _

from kit.forms.register_filter import IN_USE
from kit.links import register_url
from kit.models import Custody, Item, State
from kit.tables.marks import SOON_DAYS

Tally = tuple[int, str, str]


def tallies(items: QuerySet[Item], narrowed: dict[str, str], today: date) -> list[Tally]:
    """(how many, what, address) of these items; `narrowed` are the filters of the register that give them.

    What nobody expects and is not there (withdrawn, lost) is left out.
    """
    soon = today + timedelta(days=SOON_DAYS)
    free = Q(state=State.AVAILABLE)
    in_use = ~Q(state__in=[State.WITHDRAWN, State.LOST])
    asked: list[tuple[Q, Any, dict[str, str]]] = [
        (in_use, _("in use"), {"state": IN_USE[0]}),
        (free & Q(fit_until__gte=today), _("in fettle today"), {"state": "available", "fettle": "yes"}),
        (
            free & Q(fit_until__range=(today, soon)),
            _("of these run out within 14 days"),
            {"state": "available", "fettle": "soon"},
        ),
        (
            free & (Q(fit_until__isnull=True) | Q(fit_until__lt=today)),
            _("not in fettle today"),
            {"state": "available", "fettle": "no"},
        ),
        (Q(state=State.QUARANTINED), _("set aside"), {"state": "quarantined"}),
        (Q(custody=Custody.ON_SITE), _("out on site"), {"custody": "on-site"}),
        (Q(state=State.WITHDRAWN), _("withdrawn"), {"state": "withdrawn"}),
        (Q(state=State.LOST), _("lost"), {"state": "lost"}),
    ]
    counts = items.aggregate(
        **{f"n{place}": Count("pk", filter=q) for place, (q, *_rest) in enumerate(asked)}
    )
    usual = len(asked) - 2
    return [
        (counts[f"n{place}"], str(words), register_url({**narrowed, **more}))
        for place, (_q, words, more) in enumerate(asked)
        if counts[f"n{place}"] or place < usual
    ]
