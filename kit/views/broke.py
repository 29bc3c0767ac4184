"""What a change broke: promises that held before it and do not hold after it, said to whoever made it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.models import Reservation, Standing
from kit.sentences import said

MOST_SAID = 8


def broken_now() -> frozenset[int]:
    """The promises that do not hold now; take it before a change and hand it to `say_what_broke` after it."""
    return frozenset(Reservation.objects.filter(standing=Standing.BROKEN).values_list("pk", flat=True))


def say_what_broke(request: HttpRequest, before: frozenset[int]) -> int:
    """A caution for each promise that broke since, as far as a screen can take them; how many there are."""
    rows = Reservation.objects.filter(standing=Standing.BROKEN).select_related("job", "item")
    new = [row for row in rows.order_by("job__load_on", "item__tag") if row.pk not in before]
    for row in new[:MOST_SAID]:
        told = {"tag": row.item, "job": row.job, "why": said(row.why)}
        messages.warning(request, _("%(tag)s no longer holds for %(job)s: %(why)s") % told)
    left = len(new) - MOST_SAID
    if left > 0:
        text = ngettext(
            "%(n)s further promise no longer holds.", "%(n)s further promises no longer hold.", left
        )
        messages.warning(request, text % {"n": left})
    return len(new)
