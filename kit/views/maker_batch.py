"""The page of a maker's batch, reached by any piece of it: which pieces, how they stand, what failed among them."""

from __future__ import annotations

from typing import Any

from django.db.models import Max, Min, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from kit.links import register_url
from kit.models import Item
from kit.ports import ports
from kit.stores.related import Batch
from kit.tables.batches import range_of_days
from kit.tables.items import ItemTable
from kit.views.desk import at_desk
from kit.views.found import item_in_sight
from kit.views.group_story import story_of_pieces
from kit.views.groups import tallies
from kit.views.panels import panels
from kit.views.run_out import shown_run_out

A_PAGE = 25
HIDDEN = (
    "kind",
    "batch",
    "maker",
    "made_on",
    "quantity",
    "where",
    "fit_until",
    "decides",
    "note",
    "set_name",
)


@at_desk()
def maker_batch(request: HttpRequest, tag: str) -> HttpResponse:
    """The batch of the piece of that tag, at all depots of the person."""
    piece = item_in_sight(request, tag)
    if not piece.batch:
        raise Http404(f"no batch is recorded of {tag}")
    batch = Batch.of(piece)
    items = batch.among(Item.objects.filter(depot__in=request.desk.depots))
    table = ItemTable(items.select_related("kind", "depot", "place", "transit_to"), today=request.desk.today)
    table.choose_name = ""
    for column in HIDDEN:
        table.columns.hide(column)
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    narrowed = {"kind": batch.kind.name, "maker": batch.maker, "batch": batch.number}
    narrowed = {name: value for name, value in narrowed.items() if value}
    return render(
        request,
        "pieces/batch.html",
        {
            "batch": batch,
            "facts": _facts(batch, items),
            "tallies": tallies(items, narrowed, request.desk.today),
            "register_url": register_url(narrowed),
            "run_out": shown_run_out(items, narrowed, request.desk.today),
            "entries": story_of_pieces(items),
            "table": table,
            "panels": panels(request, ports.batch_panels, batch),
        },
    )


def _facts(batch: Batch, items: QuerySet[Item]) -> list[tuple[Any, Any]]:
    days = items.aggregate(
        made=Min("made_on"), made_last=Max("made_on"), first=Min("use_by"), last=Max("use_by")
    )
    rows = [
        (_("Maker"), batch.maker),
        (_("Made on"), range_of_days(days["made"], days["made_last"])),
        (_("Use-by date"), range_of_days(days["first"], days["last"])),
    ]
    return [(label, value or _("not recorded")) for label, value in rows]
