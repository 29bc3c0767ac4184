"""Certificates on the page of a piece and on that of a job, each with its number, verdict and file."""

from __future__ import annotations

from django.http import HttpRequest

from inspections.certificates import certificates_of, certificates_relied_on
from kit.models import Item, Job, Reservation, Standing
from kit.ports import Panel
from kit.views.some import some_of

MOST = 8


def item_panel(request: HttpRequest, item: Item) -> Panel | None:
    """The newest of a piece, with ?certificates=all every one; nothing for a piece that has none."""
    some = some_of(request, "certificates", certificates_of(item), MOST)
    if not some.number:
        return None
    return Panel(
        "certificates/item_panel.html",
        {
            "item": item,
            "certificates": some.shown,
            "number": some.number,
            "left_out": some.left_out,
            "may_attach": request.desk.may("attach", item.depot),
        },
    )


def job_panel(request: HttpRequest, job: Job) -> Panel | None:
    """Those that the pieces of a job rely on: when it went out, else as they stand today."""
    rows = Reservation.objects.filter(
        job=job, standing__in=[Standing.PROMISED, Standing.ISSUED, Standing.RETURNED]
    )
    days = {row.item_id: row.issued_on or request.desk.today for row in rows}
    found = certificates_relied_on(days) if days else []
    if not found:
        return None
    return Panel("certificates/job_panel.html", {"certificates": found, "number": len(found)})
