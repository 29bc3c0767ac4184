"""The pieces behind a share of failures: those of a kind, a maker or a batch that were tested, or that ever failed."""

from __future__ import annotations

from typing import Any

import django_tables2 as tables
from django.db.models import Count, F, IntegerField, OuterRef, Q, QuerySet, Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.http import urlencode
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig
from django_tables2.utils import A

from inspections.failures import failed_of, standing, tested_of
from inspections.models import Inspection, Verdict
from kit.models import Item, Kind
from kit.tables.columns import NUMBER
from kit.tables.marks import short_day
from kit.views.desk import at_desk

A_PAGE = 25


class TestedTable(tables.Table):
    """Items with `records`, `fails` and the last failed record (`failed_pk`, `failed_on`)."""

    row_heading = "tag"
    caption = gettext_lazy("Pieces tested")

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    maker = tables.Column(verbose_name=gettext_lazy("Maker"), default="")
    batch = tables.Column(verbose_name=gettext_lazy("Batch"), default="")
    records = tables.Column(verbose_name=gettext_lazy("Records"), attrs=NUMBER)
    fails = tables.Column(verbose_name=gettext_lazy("Of these failed"), attrs=NUMBER)
    failed_on = tables.Column(verbose_name=gettext_lazy("Last failed"), empty_values=())

    class Meta:
        empty_text = gettext_lazy("No such piece at your depots.")
        order_by = ("-fails", "tag")

    def render_records(self, value: int, record: Any) -> SafeString:
        address = reverse("item", args=[record.tag]) + "?records=all#records"
        return format_html('<a href="{}">{}</a>', address, value)

    def render_failed_on(self, record: Any) -> str | SafeString:
        if record.failed_pk is None:
            return _("never")
        address = reverse("inspection", args=[record.failed_pk])
        return format_html('<a href="{}">{}</a>', address, short_day(record.failed_on))

    def render_batch(self, value: str, record: Any) -> SafeString:
        return format_html('<a href="{}">{}</a>', reverse("maker_batch", args=[record.tag]), value)


def pieces_url(kind: str, failed: bool = False, **narrowed: str) -> str:
    """The list of the pieces of a kind that were tested or failed, narrowed by `maker` and `batch`, empty ones too."""
    asked = {**narrowed, **({"failed": "on"} if failed else {})}
    return reverse("tested", args=[kind]) + (f"?{urlencode(asked)}" if asked else "")


@require_safe
@at_desk()
def tested_pieces(request: HttpRequest, name: str) -> HttpResponse:
    """The same pieces as the share counts: at the person's depots, in any state."""
    kind = get_object_or_404(Kind, name=name)
    items = Item.objects.filter(kind=kind, depot__in=request.desk.depots)
    narrowed = {column: request.GET[column] for column in ("maker", "batch") if column in request.GET}
    items = items.filter(**narrowed)
    if but := request.GET.get("but"):
        other = Item.objects.filter(tag=but, kind=kind, depot__in=request.desk.depots).first()
        if other is not None:
            items = items.exclude(Q(maker=other.maker) & Q(batch=other.batch))
    failed = "failed" in request.GET
    found = failed_of(items) if failed else tested_of(items)
    table = TestedTable(_counted(found))
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return render(
        request,
        "failures/tested.html",
        {
            "kind": kind,
            "failed": failed,
            "maker": narrowed.get("maker"),
            "batch": narrowed.get("batch"),
            "but": but,
            "table": table,
            "number": len(table.rows),
        },
    )


def _counted(items: QuerySet[Item]) -> QuerySet[Item]:
    own = standing().filter(item=OuterRef("pk")).order_by()
    fails = own.filter(verdict=Verdict.FAIL)

    def number(rows: QuerySet[Inspection]) -> Subquery:
        return Subquery(
            rows.values("item").annotate(number=Count("pk")).values("number"), output_field=IntegerField()
        )

    last = fails.order_by("-done_on", "-pk")
    return items.annotate(
        records=number(own),
        fails=number(fails),
        failed_pk=Subquery(last.values("pk")[:1]),
        failed_on=Subquery(last.values("done_on")[:1]),
    ).order_by(F("fails").desc(nulls_last=True), "tag")
