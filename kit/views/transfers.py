"""Consignments between depots: what comes, what has gone out, what is overdue; one of them; its note."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import RequestConfig

from kit.forms.transfer import ExpectForm
from kit.models import Arrival, Deed, Depot, LedgerEntry, Transfer
from kit.papers.from_store import transfer_note_of
from kit.papers.transfer_note import transfer_note_pdf
from kit.stores import NotAllowed, acting, expect_on
from kit.tables.marks import Mark, mark_of, short_day
from kit.tables.transfers import TransferTable, how_far, with_counts
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import must
from kit.views.story import told
from kit.views.transfers_found import transfer_in_sight, transfer_scanned, transfers_in_sight

SOURCE = "transfers screen"
A_PAGE = 25
FIRST = "in"


@require_safe
@at_desk()
def transfers(request: HttpRequest) -> HttpResponse:
    """What concerns the depot one sits at. A scanned note or piece leads to its consignment."""
    desk = request.desk
    if "code" in request.GET:
        found, why = transfer_scanned(request, request.GET["code"])
        if found is not None:
            coming = not found.closed and desk.may("transfer", found.to_depot)
            return redirect("transfer_arrive" if coming else "transfer", found.number)
        messages.error(request, why)
        return redirect("transfers")
    here = with_counts(transfers_in_sight(request))
    open_ones = here.filter(closed=False).order_by("arrives_on", "number")
    lists = [
        ("in", _("On the way here"), open_ones.filter(to_depot=desk.depot)),
        ("out", _("Gone out, not signed for yet"), open_ones.filter(from_depot=desk.depot)),
        ("closed", _("Closed"), _of(here.filter(closed=True), desk.depot).order_by("-number")),
    ]
    overdue = open_ones.filter(arrives_on__lt=desk.today)
    context = {
        "lists": [(name, heading, _table(request, name, rows)) for name, heading, rows in lists],
        "overdue": _of(overdue, desk.depot).count(),
        "may_send": desk.may("transfer"),
    }
    return render(request, "transfers/page.html", context)


def _of(rows: QuerySet[Transfer], depot: Depot) -> QuerySet[Transfer]:
    return rows.filter(Q(from_depot=depot) | Q(to_depot=depot))


def _table(request: HttpRequest, name: str, rows: QuerySet[Transfer]) -> TransferTable:
    table = TransferTable(rows, today=request.desk.today, prefix=f"{name}-")
    if name == FIRST:
        # Once a page: each of its empty tables need not say it.
        table.empty_hint = _(
            "A consignment is what goes from one depot to another: one person sends it, another signs for it at the "
            "other end."
        )
        table.empty_word = "transfer"
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return table


@at_desk()
def transfer(request: HttpRequest, number: int) -> HttpResponse:
    """One consignment: how it stands, what is in it, what the ledger tells of it."""
    return _page(request, transfer_in_sight(request, number), None)


def _page(request: HttpRequest, shown: Transfer, form: ExpectForm | None) -> HttpResponse:
    desk = request.desk
    counted = with_counts(Transfer.objects.filter(pk=shown.pk)).get()
    entries = LedgerEntry.objects.filter(mentions__about=f"transfer:{shown}").order_by("-number")
    context = {
        "transfer": shown,
        "mark": how_far(counted, desk.today),
        "on_the_way": counted.on_the_way,
        "facts": _facts(shown),
        "rows": _rows(request, shown),
        "may_sign": desk.may("transfer", shown.to_depot) and shown.sent_by != desk.who(SOURCE).actor,
        "may_expect": not shown.closed and _may_expect(request, shown),
        "form": form or ExpectForm(initial={"arrives_on": max(shown.arrives_on, desk.today)}),
        "entries": told(entries.prefetch_related("corrections")[:60], f"transfer:{shown}"),
    }
    return render(request, "transfers/one.html", context)


def _facts(shown: Transfer) -> list[tuple[Any, Any]]:
    rows = [
        (_("From"), shown.from_depot),
        (_("To"), shown.to_depot),
        (_("Left on"), short_day(shown.sent_on)),
        (_("Expected there on"), short_day(shown.arrives_on)),
        (_("Sent by"), shown.sent_by),
        (_("Carried by"), shown.carrier or _("not recorded")),
        (_("Note"), shown.note),
    ]
    return [(label, value) for label, value in rows if value]


def _rows(request: HttpRequest, shown: Transfer) -> list[dict[str, Any]]:
    """The lines with how each stands, and whether something can still be signed for."""
    desk = request.desk
    listed = shown.lines.select_related("item__kind", "item__depot", "item__transit_to").order_by("item__tag")
    own = {depot.pk for depot in desk.depots}
    another = shown.sent_by != desk.who(SOURCE).actor
    may = another and (desk.may("transfer", shown.to_depot) or desk.may("transfer", shown.from_depot))
    return [
        {
            "line": line,
            "seen": line.item.depot_id in own or line.item.transit_to_id in own,
            "mark": outcome_of(line),
            "fettle": mark_of(line.item, desk.today) if line.outcome == Arrival.ON_THE_WAY else None,
            "open": may and line.outcome in (Arrival.ON_THE_WAY, Arrival.MISSING),
        }
        for line in listed
    ]


def outcome_of(line: Any) -> Mark:
    """What became of one line, in a mark."""
    if line.outcome == Arrival.ON_THE_WAY:
        return Mark("in-transit")
    signed = _("%(day)s, %(who)s") % {"day": short_day(line.arrived_on), "who": line.arrived_by}
    if line.outcome == Arrival.MISSING:
        return Mark("lost", signed, _("missing"))
    if line.outcome == Arrival.BACK:
        return Mark("available", signed, _("back where it left"))
    if line.arrived_quantity is not None and line.arrived_quantity < line.quantity:
        return Mark(
            "short",
            signed,
            _("%(n)s of %(all)s arrived") % {"n": line.arrived_quantity, "all": line.quantity},
        )
    return Mark("in-fettle", signed, _("arrived"))


def _may_expect(request: HttpRequest, shown: Transfer) -> bool:
    desk = request.desk
    ends = (shown.from_depot, shown.to_depot)
    return any(desk.may(action, depot) for action in ("transfer", "plan") for depot in ends)


@require_POST
@at_desk()
def transfer_expect(request: HttpRequest, number: int) -> HttpResponse:
    """The van is late, or early: promises that lean on it are judged again."""
    shown = transfer_in_sight(request, number)
    if not _may_expect(request, shown):
        must(request, "transfer", shown.to_depot)
    form = ExpectForm(request.POST)
    if form.is_valid():
        before = broken_now()
        try:
            with acting(request.desk.who(SOURCE)) as act:
                expect_on(act, shown, form.cleaned_data["arrives_on"], form.cleaned_data["why"])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            day = short_day(form.cleaned_data["arrives_on"])
            messages.success(request, _("%(note)s is expected on %(day)s.") % {"note": shown, "day": day})
            say_what_broke(request, before)
            return redirect("transfer", shown.number)
    return _page(request, shown, form)


@require_safe
@at_desk()
def transfer_note(request: HttpRequest, number: int) -> HttpResponse:
    """The note that goes with the van; that it was printed is told."""
    shown = transfer_in_sight(request, number)
    if request.method == "HEAD":
        return HttpResponse(content_type="application/pdf")
    with acting(request.desk.who("paper")) as act:
        act.tell(Deed.PRINTED, [shown], note="transfer note", facts={"paper": "transfer note"})
        act.flush()
        paper = transfer_note_of(shown)
    # Set outside the transaction: others need not wait for the typesetter.
    response = HttpResponse(transfer_note_pdf(paper), content_type="application/pdf")
    name = content_disposition_header(False, f"transfer-note-{shown}.pdf")
    response["Content-Disposition"] = name or ""
    response["Cache-Control"] = "no-store"
    return response
