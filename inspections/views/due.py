"""The due list: what is overdue, never done or falls due, narrowed, chosen from and written out."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.due_list import DueEntry, summary
from inspections.due_workbook import due_workbook
from inspections.forms.due_filter import Asked, DueFilter, answer
from inspections.tables.due import DueTable
from kit.forms.in_force import filters_in_force
from kit.views.change_many import may_do
from kit.views.desk import at_desk
from kit.views.found import must
from kit.views.listing import Listed, Listing, arranged, on_a_page, opens_with, tools

A_PAGE = 50
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
NOT_NARROWING = frozenset({"as_of"})


def _asked(request: HttpRequest, sent: QueryDict) -> tuple[QueryDict, DueFilter, Asked]:
    """The question in the address; one that names no depot means the one where the person sits."""
    query = sent.copy()
    if "depot" not in query and request.desk.depot:
        query["depot"] = request.desk.depot.code
    form = DueFilter(query, depots=request.desk.depots)
    return query, form, answer(form, request.desk.depots, request.desk.today)


def _listed(request: HttpRequest, sent: QueryDict) -> Listed:
    query, form, asked = _asked(request, sent)
    table = arranged(
        DueTable,
        asked.entries,
        sent,
        today=asked.as_of,
        may_ask={d.code for d in request.desk.depots if request.desk.may("ask concession", d)},
    )
    depot = form.cleaned_data.get("depot") if form.is_valid() else None
    chosen = filters_in_force(form, query)
    return Listed(
        table,
        [depot] if depot else request.desk.depots,
        "; ".join(one["text"] for one in chosen) or _("overdue or never done"),
        {"query": query, "form": form, "chosen": chosen, "asked": asked},
    )


LISTING = Listing("due", "due", gettext_lazy("Due list"), _listed, item_of=lambda entry: int(entry.item_id))


@at_desk()
def due(request: HttpRequest) -> HttpResponse:
    if usual := opens_with(request, LISTING):
        return usual
    listed = _listed(request, request.GET)
    query, form, asked = (listed.page[name] for name in ("query", "form", "asked"))
    if request.method == "POST":
        return _chosen(request, form, asked)
    on_a_page(request, listed.table, A_PAGE)
    counts = dict(summary(asked.entries, asked.as_of))
    return render(
        request,
        "due/page.html",
        {
            "table": listed.table,
            "tools": tools(request, LISTING, listed, request.GET),
            "may_change_many": bool(may_do(request)),
            "form": form,
            "chosen": listed.page["chosen"],
            "open": set(request.GET) - {"q", "page", "sort", "depot", "columns"} or form.errors,
            "as_of": asked.as_of if asked.as_of != request.desk.today else None,
            "counts": [
                (counts["never done"], _("never done"), _with(query, stands="never")),
                (counts["overdue"], _("overdue"), _with(query, stands="overdue")),
                (counts["falls due"], _("fall due"), _with(query, stands="falls")),
                (counts["promised to a job"], _("of these promised to a job"), _with(query, promised="on")),
            ],
            "all_url": f"{reverse('due_workbook')}?{query.urlencode()}",
            "number": len(asked.entries),
        },
    )


def _with(query: QueryDict, **other: str) -> str:
    """The address of the list with other filters as well."""
    narrowed = query.copy()
    narrowed.pop("page", None)
    for name, value in other.items():
        narrowed[name] = value
    return f"?{narrowed.urlencode()}"


def _chosen(request: HttpRequest, form: DueFilter, asked: Asked) -> HttpResponse:
    """The spreadsheet of what is ticked, of the list as it stands in the address."""
    ticked = set(request.POST.getlist("chosen"))
    whole = "all" in request.POST
    entries = [entry for entry in asked.entries if whole or entry.pk in ticked]
    if not entries:
        messages.error(request, _("Nothing that is still on the list is chosen: tick the rows first."))
        return redirect(request.get_full_path())
    chosen = _("%(n)s of %(m)s, chosen by hand") % {"n": len(entries), "m": len(asked.entries)}
    return _workbook(request, form, asked, entries, {_("chosen"): chosen})


@at_desk()
def workbook(request: HttpRequest) -> HttpResponse:
    """The spreadsheet of the whole list as narrowed in the address."""
    _query, form, asked = _asked(request, request.GET)
    return _workbook(request, form, asked, asked.entries, {})


def _workbook(
    request: HttpRequest, form: DueFilter, asked: Asked, entries: list[DueEntry], more: dict[str, Any]
) -> HttpResponse:
    named = {entry.depot for entry in entries} or {request.desk.depot.code}
    for depot in (depot for depot in request.desk.depots if depot.code in named):
        must(request, "export", depot)
    depots = ", ".join(depot.code for depot in request.desk.depots)
    query = {
        _("depot"): form.cleaned_data["depot"].code
        if form.is_valid() and form.cleaned_data["depot"]
        else depots,
        _("asked for"): "; ".join(one["text"] for one in filters_in_force(form, QueryDict(), NOT_NARROWING))
        or _("overdue or never done"),
        **more,
    }
    content = due_workbook(entries, asked.as_of, query, request.user.get_username())
    name = f"due list {asked.as_of.isoformat()}.xlsx".replace(" ", "_")
    response = HttpResponse(content, content_type=XLSX)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "no-store"
    return response
