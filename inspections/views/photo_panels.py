"""Photos on the pages of a kind, of a maker's batch and of a job: the newest, each with the piece that it is of."""

from __future__ import annotations

from django.db.models import F, Q
from django.http import HttpRequest

from inspections.models import Attachment
from inspections.photos import shown_photos
from inspections.views.photos import with_all
from kit.models import Item, Job, Kind
from kit.ports import Panel
from kit.stores.related import Batch
from kit.views.some import some_of

MOST = 6


def kind_panel(request: HttpRequest, kind: Kind) -> Panel | None:
    return _panel(request, Q(item__kind=kind, item__depot__in=request.desk.depots))


def batch_panel(request: HttpRequest, batch: Batch) -> Panel | None:
    items = batch.among(Item.objects.filter(depot__in=request.desk.depots))
    return _panel(request, Q(item__in=items))


def job_panel(request: HttpRequest, job: Job) -> Panel | None:
    """Of cases that came from the job, and of records made on its pieces while they were out on it."""
    out = Q(
        item__reservations__job=job,
        inspection__done_on__gte=F("item__reservations__issued_on"),
        inspection__done_on__lte=F("item__reservations__back_on"),
    )
    return _panel(request, Q(case__job=job) | out)


def _panel(request: HttpRequest, about: Q) -> Panel | None:
    """Nothing where nobody took one. ?photos=all shows all of them."""
    found = Attachment.objects.filter(about, content_type__startswith="image/").distinct()
    some = some_of(request, "photos", with_all(found), MOST)
    if not some.number:
        return None
    return Panel(
        "files/photo_panel.html",
        {
            "photos": shown_photos(some.shown, tagged=True),
            "number": some.number,
            "left_out": some.left_out,
        },
    )
