"""The page of one kind as the store has it: how its pieces stand, its makers and batches, what failed, what is due."""

from __future__ import annotations

from django.db.models import Count, Max, Min, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django_tables2 import RequestConfig

from kit.links import register_url
from kit.models import Item, Kind, State
from kit.ports import ports
from kit.tables.batches import BatchTable
from kit.views.desk import at_desk
from kit.views.group_story import story_of_kind
from kit.views.groups import tallies
from kit.views.panels import panels
from kit.views.run_out import shown_run_out

A_PAGE = 15


@at_desk()
def kind_page(request: HttpRequest, name: str) -> HttpResponse:
    shown = get_object_or_404(Kind, name=name)
    items = Item.objects.filter(kind=shown, depot__in=request.desk.depots)
    narrowed = {"kind": shown.name}
    in_use = ~Q(state__in=[State.WITHDRAWN, State.LOST])
    # A batch is known by any of its pieces: the number alone is a maker's own.
    batches = (
        items.exclude(batch="")
        .values("maker", "batch")
        .annotate(
            tag=Min("tag"),
            pieces=Count("pk"),
            in_use=Count("pk", filter=in_use),
            first=Min("use_by"),
            last=Max("use_by"),
        )
    )
    table = BatchTable(batches, kind=shown.name, prefix="b-")
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return render(
        request,
        "pieces/kind.html",
        {
            "kind": shown,
            "tallies": tallies(items, narrowed, request.desk.today),
            "register_url": register_url(narrowed),
            "run_out": shown_run_out(items, narrowed, request.desk.today),
            "entries": story_of_kind(shown.name),
            "table": table if len(table.rows) else None,
            "panels": panels(request, ports.kind_panels, shown),
        },
    )
