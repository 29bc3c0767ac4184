"""The page of one item: what it is, whether it is in fettle, where it is promised, and its whole story."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from kit.life_picture import picture_of_lives
from kit.models import OPEN, Custody, Item, LedgerEntry, Reservation
from kit.ports import Way, ports
from kit.stores import mates_of, on_the_way
from kit.tables.marks import conceded, fettle_of, mark_of
from kit.tables.promises import PromiseTable
from kit.views.desk import at_desk
from kit.views.found import item_in_sight
from kit.views.item_acts import open_acts
from kit.views.item_facts import facts, life_rows, lives_now, proofs_of, why_so
from kit.views.item_with import related_to, used_with, where_it_is
from kit.views.panels import panels
from kit.views.story import told

ENTRIES_A_PAGE = 20


@at_desk()
def item(request: HttpRequest, tag: str) -> HttpResponse:
    shown = item_in_sight(request, tag)
    today = request.desk.today
    subject = f"item:{shown.tag}"
    proofs = proofs_of(shown)
    lives = lives_now(shown, today)
    out = _out_on(shown)
    entries = (
        LedgerEntry.objects.filter(mentions__about=subject)
        .prefetch_related("corrections")
        .order_by("-number")
    )
    page = Paginator(entries, ENTRIES_A_PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "item/page.html",
        {
            "item": shown,
            "mark": mark_of(shown, today),
            "fettle": fettle_of(shown, today),
            "conceded": conceded(shown.gates),
            "concessions": ports.judge.concessions([shown.pk]).get(shown.pk, []),
            "facts": facts(shown, proofs),
            "why": why_so(shown, lives, proofs),
            "life": picture_of_lives(lives),
            "lives": life_rows(lives, proofs),
            "acts": open_acts(request, shown),
            "ways": [
                *_consignment(shown),
                *(way for ways in ports.item_ways for way in ways(request, shown)),
            ],
            "panels": panels(request, ports.item_panels, shown),
            "now_with": out,
            "where": where_it_is(request, shown, out),
            "used": used_with(request, shown),
            "related": related_to(request, shown),
            "mates": [_mate(mate, today) for mate in mates_of(shown)],
            "promises": _promises(shown, today),
            "entries": told(page.object_list, subject),
            "page": page,
        },
    )


def _consignment(item: Item) -> list[Way]:
    """The way to the consignment on which it is in transit."""
    line = on_the_way(item)
    if line is None:
        return []
    label = _("Consignment %(note)s") % {"note": line.transfer}
    return [Way(reverse("transfer", args=[line.transfer.number]), label, "transfer")]


def _out_on(item: Item) -> list[Reservation]:
    return list(
        Reservation.objects.filter(item=item, standing="issued")
        .select_related("job__depot", "line", "item")
        .order_by("issued_on")
    )


def _mate(mate: Item, today: Any) -> dict[str, Any]:
    """Another piece of its set: whether it is in fettle, how it stands, and where it is."""
    if mate.custody == Custody.STORE:
        where = str(mate.place) if mate.place else _("no place recorded")
    else:
        where = _(mate.get_custody_display())
    return {"item": mate, "mark": mark_of(mate, today), "fettle": fettle_of(mate, today), "where": where}


def _promises(item: Item, today: Any) -> PromiseTable:
    rows = (
        Reservation.objects.filter(item=item)
        .select_related("job", "line", "proposed")
        .order_by("-starts", "-id")
    )
    table = PromiseTable(rows, today=today, prefix="p-", order_by=())
    table.open_count = rows.filter(standing__in=OPEN).count()
    table.paginate(per_page=10, page=1)
    return table
