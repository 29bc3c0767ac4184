"""One record: its verdict in large type, readings, figures, photos, and its paper."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from inspections.models import Inspection
from inspections.record_values import points_of, readings_of, shown
from inspections.views.files import files_of
from kit.views.desk import at_desk
from kit.views.found import item_in_sight


def record_in_sight(request: HttpRequest, number: int) -> Inspection:
    """The record of that number if its item is in the person's sight, or 404."""
    rows = Inspection.objects.select_related("item__kind", "item__depot", "check_done", "version", "gauge")
    record = rows.filter(pk=number).first()
    if record is None:
        raise Http404(f"no record {number}")
    item_in_sight(request, record.item.tag)
    return record


@require_safe
@at_desk()
def inspection(request: HttpRequest, number: int) -> HttpResponse:
    record = record_in_sight(request, number)
    return render(
        request,
        "record/one.html",
        {
            "record": record,
            "item": record.item,
            "done": shown(record),
            "readings": readings_of(record),
            "points": points_of(record),
            "correction": Inspection.objects.filter(corrects=record).first(),
            **files_of(request, record.item, inspection=record),
        },
    )
