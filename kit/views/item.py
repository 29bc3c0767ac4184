"""The page of one item: what it is, whether it is in fettle, where it is promised, and its whole story."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from kit.life_picture import picture_of_lives
from kit.models import OPEN, Custody, Item, LedgerEntry, Reservation, State
from kit.planning.life_left import lives_of
from kit.ports import Way, ports
from kit.stores import mates_of, on_the_way
from kit.tables.items import bore_text, use_by_text
from kit.tables.marks import conceded, fettle_of, mark_of, short_day
from kit.tables.promises import PromiseTable
from kit.views.desk import at_desk
from kit.views.found import item_in_sight
from kit.views.item_acts import open_acts
from kit.views.story import told

ENTRIES_A_PAGE = 20


@at_desk()
def item(request: HttpRequest, tag: str) -> HttpResponse:
    shown = item_in_sight(request, tag)
    today = request.desk.today
    subject = f"item:{shown.tag}"
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
            "facts": _facts(shown),
            "why": _why_so(shown),
            "life": _life(shown, today),
            "acts": open_acts(request, shown),
            "ways": [
                *_consignment(shown),
                *(way for ways in ports.item_ways for way in ways(request, shown)),
            ],
            "panels": _panels(request, shown),
            "now_with": _out_on(shown),
            "mates": [_mate(mate, today) for mate in mates_of(shown)],
            "promises": _promises(shown, today),
            "entries": told(page.object_list, subject),
            "page": page,
        },
    )


def _facts(item: Item) -> list[tuple[Any, Any]]:
    """What is recorded of the item; what does not apply to its kind and is empty is left out."""
    use_by = use_by_text(item)
    if item.use_by and item.use_by_precision != "day":
        use_by = _("%(use_by)s: the last day of the %(precision)s counts") % {
            "use_by": use_by,
            "precision": _(item.get_use_by_precision_display()).lower(),
        }
    rows = [
        (_("Kind"), _linked(reverse("kind_page", args=[item.kind.name]), item.kind), True),
        (_("Quantity"), item.quantity if item.counted else "", item.counted),
        (_("Maker"), item.maker, True),
        (_("Maker's serial"), item.serial, item.kind.has_serial),
        (
            _("Batch"),
            item.batch and _linked(reverse("maker_batch", args=[item.tag]), item.batch),
            item.kind.has_batch,
        ),
        (_("Bore, mm"), bore_text(item), item.kind.has_bore),
        (_("Mark"), item.mark, item.kind.has_mark),
        (_("Made on"), short_day(item.made_on) if item.made_on else "", False),
        (_("Use-by date"), use_by, item.kind.has_use_by),
        (_("Set"), item.set_name, False),
        (_("Depot"), item.depot, True),
        (_("Place in the store"), item.place, True),
        (_("Note"), item.note, False),
    ]
    return [(label, value or _("not recorded")) for label, value, asked in rows if asked or value]


def _linked(url: str, words: object) -> SafeString:
    return format_html('<a href="{}">{}</a>', url, words)


def _life(item: Item, today: date) -> SafeString:
    """What is left of its dates, drawn; nothing for what is not in use any more."""
    if item.state in (State.WITHDRAWN, State.LOST):
        return SafeString("")
    return picture_of_lives(lives_of(item.made_on, item.use_by, item.gates, today))


def _why_so(item: Item) -> list[tuple[Any, Any]]:
    """What decides whether it may go out: the date that comes first, and its state."""
    if item.fit_until is None:
        until = _("not fit now")
    elif item.limited:
        until = short_day(item.fit_until)
    else:
        until = _("no date limits it")
    rows = [
        (_("Fit until"), until),
        (_("What decides it"), item.fit_reason),
        (_("State"), _(item.get_state_display())),
    ]
    if item.state != State.AVAILABLE:
        rows.append((_("Why"), item.state_why))
        since = short_day(item.state_since.date()) if item.state_since else _("not recorded")
        rows.append((_("Since, by"), f"{since}, {item.state_by}"))
    where: Any = _(item.get_custody_display())
    if item.custody == Custody.IN_TRANSIT and item.arrives_on:
        where = _("In transit to %(depot)s, expected on %(day)s; sent by %(who)s") % {
            "depot": item.transit_to,
            "day": short_day(item.arrives_on),
            "who": item.sent_by,
        }
    rows.append((_("Where it is"), where))
    return rows


def _consignment(item: Item) -> list[Way]:
    """The way to the consignment on which it is in transit."""
    line = on_the_way(item)
    if line is None:
        return []
    label = _("Consignment %(note)s") % {"note": line.transfer}
    return [Way(reverse("transfer", args=[line.transfer.number]), label, "transfer")]


def _out_on(item: Item) -> list[Reservation]:
    return list(
        Reservation.objects.filter(item=item, standing="issued").select_related("job").order_by("issued_on")
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


def _panels(request: HttpRequest, item: Item) -> list[SafeString]:
    """Parts that other packages put on the page."""
    given = (panel(request, item) for panel in ports.item_panels)
    return [render_to_string(panel.template, panel.context, request) for panel in given if panel]
