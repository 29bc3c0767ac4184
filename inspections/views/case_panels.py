"""What quarantine cases put on other pages: an item's open and former cases, and open cases by age."""

from __future__ import annotations

from collections.abc import Iterator

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from inspections.actions.cases import open_case
from inspections.case_list import age_days, by_band, cases_at
from inspections.models import QuarantineCase
from inspections.tables.quarantine import case_mark
from kit.models import Item, Role, State
from kit.ports import Panel, Way


def item_cases(request: HttpRequest, item: Item) -> Panel | None:
    """The cases of an item, the open one first; nothing if it was never set aside."""
    today = request.desk.today
    rows = QuarantineCase.objects.filter(item=item).select_related("job").order_by("-opened_at", "-pk")
    cases = sorted(rows, key=lambda case: not case.is_open)
    if not cases:
        return None
    lines = [(case, case_mark(case), age_days(case, today)) for case in cases]
    return Panel("quarantine/item_panel.html", {"lines": lines})


def today_cases(request: HttpRequest) -> Panel | None:
    """For the compliance lead: open cases by age, and how much of what was used with them waits for a look."""
    if Role.COMPLIANCE not in request.desk.roles:
        return None
    cases = list(cases_at([request.desk.depot.pk]))
    if not cases:
        return None
    to = reverse("quarantine")
    return Panel(
        "quarantine/today_panel.html",
        {
            "number": len(cases),
            "bands": [
                (band, figure, f"{to}?age={band.key}") for band, figure in by_band(cases, request.desk.today)
            ],
            "unlooked": sum(case.unlooked for case in cases),
        },
    )


def item_ways(request: HttpRequest, item: Item) -> Iterator[Way]:
    """From an item that is set aside to its case, from one that is withdrawn to its disposal note."""
    case = open_case(item)
    if case is not None:
        yield Way(reverse("case", args=[case.pk]), _("Quarantine case %(n)s") % {"n": case.pk}, "quarantine")
    if item.state == State.WITHDRAWN:
        yield Way(reverse("disposal_note", args=[item.tag]), _("Disposal note"), "print")
