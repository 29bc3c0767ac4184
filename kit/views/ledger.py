"""The ledger, newest entry first, and the proof that nothing in it was altered."""

from __future__ import annotations

from collections.abc import Iterator
from time import perf_counter
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy

from kit.forms.in_force import filters_in_force
from kit.forms.ledger_filter import LedgerFilter
from kit.models import LedgerEntry
from kit.stores import prove_ledger
from kit.tables.ledger import LedgerTable
from kit.views.desk import at_desk
from kit.views.listing import EACH, Listed, Listing, opens_with, tools
from kit.views.story import told

ENTRIES_A_PAGE = 30


class LedgerListed(Listed):
    def records(self) -> Iterator[Any]:
        """Each entry as it is told, with who and from where apart."""
        about = self.page["about"]
        for entry in self.page["entries"].iterator(EACH):
            [said] = told([entry], about)
            yield {**said, "actor": entry.actor, "source": entry.source}


def _listed(request: HttpRequest, query: QueryDict) -> Listed:
    form = LedgerFilter(query or None, auto_id="f_%s")
    entries = form.narrow(LedgerEntry.objects.order_by("-number").prefetch_related("corrections"))
    return LedgerListed(
        LedgerTable(entries, today=request.desk.today),
        [request.desk.depot],
        "; ".join(one["text"] for one in filters_in_force(form, query)),
        {"form": form, "entries": entries, "about": query.get("about", "")},
    )


LISTING = Listing("ledger", "ledger", gettext_lazy("Ledger"), _listed, action="prove", columns_chosen=False)


@at_desk("prove")
def ledger(request: HttpRequest) -> HttpResponse:
    """GET lists; POST proves the chain now and shows what came of it above the list."""
    if usual := opens_with(request, LISTING):
        return usual
    context: dict[str, object] = {}
    if request.method == "POST":
        began = perf_counter()
        context["proof"] = prove_ledger()
        context |= {"seconds": perf_counter() - began, "proved_at": timezone.now()}
    listed = _listed(request, request.GET)
    page = Paginator(listed.page["entries"], ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    last = LedgerEntry.objects.order_by("-number").first()
    return render(
        request,
        "ledger/page.html",
        {
            "form": listed.page["form"],
            "tools": tools(request, LISTING, listed, request.GET),
            "page": page,
            "entries": told(page.object_list, request.GET.get("about", "")),
            "last": last,
            **context,
        },
    )
