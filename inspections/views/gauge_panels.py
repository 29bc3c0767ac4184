"""On the page of a gauge: what was read with it, since a gauge that is found out puts just that in doubt."""

from __future__ import annotations

from django.http import HttpRequest

from inspections.models import Inspection
from kit.models import Item
from kit.ports import Panel
from kit.views.some import some_of

MOST = 8


def item_panel(request: HttpRequest, item: Item) -> Panel | None:
    """The newest tests read with it at the person's depots, with ?tests=all every one; nothing for what reads none."""
    found = (
        Inspection.objects.filter(gauge=item, item__depot__in=request.desk.depots, struck=False)
        .filter(corrections__isnull=True)
        .select_related("item__kind", "check_done")
        .order_by("-done_on", "-pk")
    )
    some = some_of(request, "tests", found, MOST)
    if not some.number:
        return None
    return Panel(
        "record/read_with_panel.html",
        {"tests": some.shown, "number": some.number, "left_out": some.left_out},
    )
