"""The register: everything at one's depots, searched, narrowed and sorted; and goods in."""

from __future__ import annotations

from collections.abc import Iterator
from tempfile import TemporaryFile

from django.contrib import messages
from django.db import IntegrityError
from django.http import FileResponse, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.in_force import filters_in_force
from kit.forms.item import ReceiveForm, names_of_places
from kit.forms.register_filter import RegisterFilter
from kit.models import Depot, Item
from kit.planning import NO_LIMIT
from kit.stores import NotAllowed, acting, place_named, receive
from kit.tables.items import ItemTable
from kit.views.change_many import may_do
from kit.views.desk import at_desk
from kit.views.found import must
from kit.views.listing import Listed, Listing, arranged, on_a_page, opens_with, tools
from kit.workbooks.writing import Column, write_table_workbook

A_PAGE = 25
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

# The headings of the register's sheet Items, so that what was written out can be loaded again.
COLUMNS = (
    Column("tag"),
    Column("kind"),
    Column("maker"),
    Column("serial"),
    Column("batch"),
    Column("bore_min_mm", "decimal"),
    Column("bore_max_mm", "decimal"),
    Column("mark"),
    Column("made_on", "date"),
    Column("use_by", "date"),
    Column("depot"),
    Column("place"),
    Column("state"),
    Column("quantity", "integer"),
    Column("note", width=40),
    Column("set"),
    Column("where"),
    Column("fit until", "date"),
    Column("what decides it", width=40),
)


def _narrowed(request: HttpRequest, asked: QueryDict) -> RegisterFilter:
    """The filter as asked for; a request that names no depot means the one where the person sits."""
    asked = asked.copy()
    if "depot" not in asked and request.desk.depot:
        asked["depot"] = request.desk.depot.code
    depots: list[Depot] = request.desk.depots
    items = Item.objects.filter(depot__in=depots).select_related("kind", "depot", "place", "transit_to")
    return RegisterFilter(asked, depots=depots, queryset=items)


def _listed(request: HttpRequest, query: QueryDict) -> Listed:
    narrowed = _narrowed(request, query)
    in_sets = narrowed.qs.exclude(set_name="").exists()
    hidden = () if in_sets else ("set_name",)
    table = arranged(ItemTable, narrowed.qs, query, hidden, today=request.desk.today)
    form = narrowed.form
    depot = form.cleaned_data.get("depot") if form.is_valid() else None
    chosen = filters_in_force(form, narrowed.data)
    return Listed(
        table,
        [depot] if depot else request.desk.depots,
        "; ".join(one["text"] for one in chosen),
        {"filter": narrowed, "chosen": chosen, "query": narrowed.data.urlencode()},
    )


LISTING = Listing(
    "register", "register", gettext_lazy("Register"), _listed, item_of=lambda item: int(item.pk)
)


@at_desk()
def register(request: HttpRequest) -> HttpResponse:
    if usual := opens_with(request, LISTING):
        return usual
    listed = _listed(request, request.GET)
    may_change = bool(may_do(request))
    if not may_change and not request.desk.may("print labels"):
        listed.table.choose_name = ""
    on_a_page(request, listed.table, A_PAGE)
    return render(
        request,
        "register/page.html",
        {
            "table": listed.table,
            "tools": tools(request, LISTING, listed, request.GET),
            "may_change_many": may_change,
            "open": set(request.GET) - {"q", "page", "sort", "depot", "columns"},
            **listed.page,
        },
    )


@at_desk("export")
def register_export(request: HttpRequest) -> HttpResponse:
    """The register as narrowed, as a spreadsheet whose sheet can be loaded again."""
    narrowed = _narrowed(request, request.GET)
    items = narrowed.qs.order_by("tag")
    file = TemporaryFile()  # noqa: SIM115  FileResponse closes it
    facts = {
        _("As of"): request.desk.today,
        _("Narrowed to"): "; ".join(one["text"] for one in filters_in_force(narrowed.form, narrowed.data))
        or _("nothing: all of one's depots"),
        _("Written by"): request.user.get_username(),
    }
    write_table_workbook(
        file, "Items", COLUMNS, _rows(items.iterator(2000)), facts, [(_("items"), items.count())]
    )
    file.seek(0)
    name = f"register-{request.desk.today:%Y-%m-%d}.xlsx"
    return FileResponse(file, as_attachment=True, filename=name, content_type=XLSX)


def _rows(items: Iterator[Item]) -> Iterator[list[object]]:
    for item in items:
        by_label = item.use_by_text if item.use_by_precision != "day" else ""
        yield [
            item.tag,
            item.kind.name,
            item.maker,
            item.serial,
            item.batch,
            item.bore_min_mm,
            item.bore_max_mm,
            item.mark,
            item.made_on,
            by_label or item.use_by,
            item.depot.code,
            item.place.name if item.place else "",
            item.state,
            item.quantity if item.counted else None,
            item.note,
            item.set_name,
            _(item.get_custody_display()),
            "no limit" if item.fit_until == NO_LIMIT else item.fit_until or "not fit",
            item.fit_reason,
        ]


@at_desk("receive")
def receive_item(request: HttpRequest) -> HttpResponse:
    """Take one new item or lot into the register."""
    depots = [d for d in request.desk.depots if request.desk.may("receive", d)]
    form = ReceiveForm(
        request.POST or None,
        depots=depots,
        initial={"depot": request.desk.depot},
    )
    if request.method == "POST" and form.is_valid():
        depot = form.cleaned_data["depot"]
        must(request, "receive", depot)
        try:
            with acting(request.desk.who("receiving screen")) as act:
                name = form.cleaned_data["place"]
                place = place_named(act, depot, name) if name else None
                [item] = receive(act, [form.new_item(place)])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        except IntegrityError:
            form.add_error(
                None, _("Somebody else has just received this tag or serial. Look it up in the register.")
            )
        else:
            messages.success(request, _("%(tag)s is received.") % {"tag": item.tag})
            return redirect("item", item.tag)
    return render(request, "register/receive.html", {"form": form, "places": names_of_places(depots)})
