"""Long lists that people keep their own way: columns and order in the address, views by name, all of it written out.

A listing is named once, here or through `ports.listings`; its page, its files and what is changed in bulk all build
the same table from the same address, so that what is written out is what is seen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django_tables2 import RequestConfig, Table

from kit.models import Depot
from kit.ports import ports
from kit.saved_views import in_sight, tidy_query, usual_view
from kit.workbooks.writing import Column

EACH = 2000
"""Rows read from the database at a time when a list is written out."""


@dataclass(frozen=True)
class Listed:
    """A list as one address asks for it: its table in order, which depots it is of, what narrows it in words."""

    table: Table
    depots: list[Depot]
    narrowed_to: str = ""
    # What its page shows besides.
    page: dict[str, Any] = field(default_factory=dict)

    @property
    def number(self) -> int:
        return len(self.table.rows)

    def records(self) -> Iterator[Any]:
        """Every record, in the order of the table, and not only those of a page."""
        data: Any = self.table.data.data
        return data.iterator(EACH) if isinstance(data, QuerySet) else iter(data)

    def columns(self) -> list[Column]:
        """The columns in sight as a file has them, under the headings of the screen."""
        return [
            Column(str(column.header), written.kind, written.width) for column, written in self._in_sight()
        ]

    def rows(self) -> Iterator[list[object]]:
        """The values of those columns, a list for each record."""
        values, day = [written.of for _column, written in self._in_sight()], self.table.today
        return ([of(record, day) for of in values] for record in self.records())

    def _in_sight(self) -> list[tuple[Any, Any]]:
        written = self.table.written
        return [(column, written[column.name]) for column in self.table.columns if column.name in written]


@dataclass(frozen=True)
class Listing:
    """A list: its name in addresses, whose page it is, who may see it, how it is built for an address.

    `item_of` gives the id of the item that a record is about, where its pieces can be changed in bulk.
    """

    name: str
    url_name: str
    title: Any
    build: Callable[[HttpRequest, QueryDict], Listed]
    action: str = "see"
    item_of: Callable[[Any], int] | None = None
    columns_chosen: bool = True

    @property
    def url(self) -> str:
        return reverse(self.url_name)


def listing_named(request: HttpRequest, name: str) -> Listing:
    """The listing of that name, if the person may see it; else 404."""
    found: Listing | None = ports.listings.get(name)
    if found is None or not request.desk.may(found.action):
        raise Http404(name)
    return found


def columns_asked(table: type[Table], query: QueryDict) -> list[str]:
    """The columns that the address names, in its order, with the one that heads a row; empty if it names none."""
    named = [name for word in query.getlist("columns") for name in word.split(",")]
    known = list(dict.fromkeys(name for name in named if name in table.base_columns))
    if not known:
        return []
    head = table.row_heading
    return known if head in known else [head, *known]


def arranged(
    table: type[Table], data: Any, query: QueryDict, hidden: tuple[str, ...] = (), **more: Any
) -> Table:
    """The table with the columns and the order that the address asks for.

    `hidden` are columns that do not show unless asked for by name, besides those that never do.
    """
    names = columns_asked(table, query)
    made = table(data, sequence=[*names, "..."] if names else None, **more)
    out_of_sight = {*getattr(table, "at_first_hidden", ()), *hidden}
    for column in table.base_columns:
        if column not in names if names else column in out_of_sight:
            made.columns.hide(column)
    if order := query.getlist("sort"):
        made.order_by = order
    return made


def on_a_page(request: HttpRequest, table: Table, number: int) -> None:
    """Show the page of the table that the address asks for; its order stands already."""
    RequestConfig(request, paginate={"per_page": number}).configure(table)


def opens_with(request: HttpRequest, listing: Listing) -> HttpResponse | None:
    """Where to go instead: an address that asks for nothing means the person's usual view of the list."""
    if request.GET or request.method != "GET":
        return None
    view = usual_view(request.user, listing.name, request.desk.depots)
    return redirect(f"{listing.url}?{view.query}") if view is not None and view.query else None


def tools(request: HttpRequest, listing: Listing, listed: Listed, query: QueryDict) -> dict[str, Any]:
    """What templates/lists/tools.html shows of a list: its views, its columns, the files it can be written to."""
    here = tidy_query(query)
    listed.table.beside = "list-tools"
    views = list(in_sight(request.user, listing.name, request.desk.depots).select_related("owner"))
    usual = usual_view(request.user, listing.name, request.desk.depots)
    shown = [column.name for column in listed.table.columns]
    columns = type(listed.table).base_columns
    bound = {column.name: column for column in listed.table.columns.iterall()}
    return {
        "listing": listing,
        "query": here,
        "views": [
            {
                "view": view,
                "url": f"{listing.url}?{view.query}",
                "current": view.query == here,
                "usual": usual is not None and view.pk == usual.pk,
                "own": view.owner_id == request.user.pk,
            }
            for view in views
        ],
        "usual": usual,
        "columns": [
            {
                "name": name,
                "header": bound[name].header,
                "shown": name in shown,
                "head": name == listed.table.row_heading,
                "earlier": _earlier(query, shown, name),
            }
            for name in [*shown, *(name for name in columns if name not in shown)]
        ],
        "others": [(name, value) for name, value in _pairs(query) if name not in ("columns", "page")],
        "carried": [(name, value) for name, value in _pairs(query) if name in ("columns", "sort")],
        "files": [
            (kind, f"{reverse('list_file', args=[listing.name, kind])}?{here}")
            for kind in ("xlsx", "ods", "csv")
        ]
        if request.desk.may("export") and listed.number
        else [],
        "change_url": f"{reverse('change_many', args=[listing.name])}?{here}" if listing.item_of else "",
        "number": listed.number,
    }


def _pairs(query: QueryDict) -> Iterator[tuple[str, str]]:
    for name, values in query.lists():
        for value in values:
            yield name, value


def _earlier(query: QueryDict, shown: list[str], name: str) -> str:
    """The address in which the column stands one further to the front; empty for the first and for hidden ones."""
    place = shown.index(name) if name in shown else 0
    if place < 1:
        return ""
    order = [*shown]
    order[place - 1], order[place] = order[place], order[place - 1]
    moved = query.copy()
    moved.pop("page", None)
    moved.setlist("columns", [",".join(order)])
    return f"?{moved.urlencode()}"
