"""The ledger, newest entry first, and the proof that nothing in it was altered."""

from __future__ import annotations

from time import perf_counter

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from kit.forms.ledger_filter import LedgerFilter
from kit.models import LedgerEntry
from kit.stores import prove_ledger
from kit.views.desk import at_desk
from kit.views.story import told

ENTRIES_A_PAGE = 30


@at_desk("prove")
def ledger(request: HttpRequest) -> HttpResponse:
    """GET lists; POST proves the chain now and shows what came of it above the list."""
    context: dict[str, object] = {}
    if request.method == "POST":
        began = perf_counter()
        context["proof"] = prove_ledger()
        context |= {"seconds": perf_counter() - began, "proved_at": timezone.now()}
    form = LedgerFilter(request.GET or None, auto_id="f_%s")
    entries = LedgerEntry.objects.order_by("-number").prefetch_related("corrections")
    page = Paginator(form.narrow(entries), ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    last = LedgerEntry.objects.order_by("-number").first()
    return render(
        request,
        "ledger/page.html",
        {
            "form": form,
            "page": page,
            "entries": told(page.object_list, request.GET.get("about", "")),
            "last": last,
            **context,
        },
    )
