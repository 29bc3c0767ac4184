"""Quarantine: what is set aside, by age, and its release by somebody else."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspections.actions import barred_from_release, release
from inspections.forms.findings import ReleaseForm
from inspections.tables.quarantine import QuarantineTable
from inspections.views.panels import checks_of
from kit.models import Item, LedgerEntry, State
from kit.stores import NotAllowed, acting
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must
from kit.views.story import told

A_PAGE = 25
LAST_ENTRIES = 6


@at_desk()
def quarantine(request: HttpRequest) -> HttpResponse:
    """What is set aside at the depot where one sits, or with ?depot=all at all of one's depots."""
    everywhere = request.GET.get("depot") == "all"
    depots = request.desk.depots if everywhere else [request.desk.depot]
    items = Item.objects.filter(depot__in=depots, state=State.QUARANTINED)
    may_release = {depot.pk for depot in depots if request.desk.may("release", depot)}
    table = QuarantineTable(
        items.select_related("kind", "depot", "place"),
        today=request.desk.today,
        may_release=may_release,
        me=request.user.get_username(),
    )
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    context = {"table": table, "everywhere": everywhere, "several": len(request.desk.depots) > 1}
    return render(request, "quarantine/page.html", context)


@at_desk()
def release_item(request: HttpRequest, tag: str) -> HttpResponse:
    """Release with findings. Nobody releases what they set aside or failed: the action refuses, and says so."""
    item = item_in_sight(request, tag)
    must(request, "release", item.depot)
    sent = request.POST if request.method == "POST" else None
    form = ReleaseForm(sent)
    if sent is not None and form.is_valid():
        try:
            with acting(request.desk.who("quarantine screen")) as act:
                release(act, item, form.cleaned_data["findings"])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(
                request,
                _("%(tag)s is released. Its checks decide whether it may go out.") % {"tag": item.tag},
            )
            return redirect("item", item.tag)
    me = request.user.get_username()
    subject = f"item:{item.tag}"
    entries = LedgerEntry.objects.filter(mentions__about=subject).order_by("-number")
    return render(
        request,
        "quarantine/release.html",
        {
            "item": item,
            "form": form,
            "in_quarantine": item.state == State.QUARANTINED,
            "own": me in barred_from_release(item),
            "checks": checks_of(item, request.desk.today),
            "entries": told(entries.prefetch_related("corrections")[:LAST_ENTRIES], subject),
        },
    )
