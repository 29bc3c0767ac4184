"""Writing item rows: through the store's actions, so that each change is an entry of the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kit.models import Custody, Depot, Item, Kind, Place, State
from kit.stores import (
    Act,
    chunked,
    count_stock,
    depot_named,
    find_again,
    fresh,
    lose,
    place_named,
    quarantine,
    receive,
    record_details,
    withdraw,
)
from kit.stores.act import canonical_of, canonical_value
from kit.workbooks.item_rows import ItemRow
from kit.workbooks.load_context import Context
from kit.workbooks.load_item_sets import sets_differ

SHEET = "Items"


def write_items(act: Act, context: Context, rows: Sequence[ItemRow]) -> None:
    """Take in new items and change known ones as their rows say; due dates are left to the caller."""
    kinds = {kind.name: kind for kind in Kind.objects.all()}
    depots = {code: depot_named(act, code) for code in sorted({row.depot for row in rows})}
    places = {
        (depot, name): place_named(act, depots[depot], name)
        for depot, name in sorted({(row.depot, row.place) for row in rows if row.place})
    }
    known = _known(rows)
    _clear_changing_serials(act, context, rows, known)
    new: list[Item] = []
    for row in rows:
        item = known.get(row.tag)
        place = places[row.depot, row.place] if row.place else None
        if item is None:
            new.append(_new_item(row, kinds[row.kind], depots[row.depot], place, context))
            context.note(SHEET, row.row, row.tag, "new")
            continue
        what: list[str] = []
        with context.writing(SHEET, row.row):
            what = _change(act, row, item, depots[row.depot], place, context)
        if what:
            context.touched.add(item.pk)
        context.note(SHEET, row.row, row.tag, "changed" if what else "unchanged", ", ".join(what))
    made = receive(act, new, derive=False)
    context.touched.update(item.pk for item in made)


def _known(rows: Sequence[ItemRow]) -> dict[str, Item]:
    known: dict[str, Item] = {}
    for chunk in chunked([row.tag for row in rows]):
        found = Item.objects.filter(tag__in=chunk).select_related("kind", "depot", "place")
        known.update((item.tag, item) for item in found)
    return known


def _new_item(row: ItemRow, kind: Kind, depot: Depot, place: Place | None, context: Context) -> Item:
    item = Item(
        tag=row.tag, kind=kind, depot=depot, place=place, state=row.state or State.AVAILABLE, **row.details
    )
    if kind.counted:
        item.quantity = row.quantity or 0
    if item.state != State.AVAILABLE:
        item.state_why = item.note or f"{row.state} in the register handed over ({context.file_name})"
    return item


def _clear_changing_serials(
    act: Act, context: Context, rows: Sequence[ItemRow], known: dict[str, Item]
) -> None:
    """Take the serial off items that pass it on to another row, so that two may exchange theirs.

    The database never has one serial twice, not even between two changes of the same file.
    """

    def key(item: Item, details: dict[str, Any]) -> tuple[str, str, int]:
        return details.get("serial", item.serial), details.get("maker", item.maker), item.kind_id

    holders = {key(item, {}): item for item in known.values() if item.serial}
    for row in rows:
        item = known.get(row.tag)
        if item is None:
            continue
        holder = holders.get(key(item, row.details))
        if holder is not None and holder.pk != item.pk and holder.serial:
            why = f"row {row.row} of {context.file_name} has this serial now"
            record_details(act, holder, {"serial": ""}, why, derive=False)


def _change(
    act: Act, row: ItemRow, item: Item, depot: Depot, place: Place | None, context: Context
) -> list[str]:
    """Change an existing item as its row says; the names of what changed."""
    details = dict(row.details, depot=depot)
    if row.place is not None:
        details["place"] = place
    elif item.place is not None and item.place.depot_id != depot.pk:
        details["place"] = None  # a place belongs to one depot's store
    what = [name for name, value in details.items() if canonical_of(item, name) != canonical_value(value)]
    why = f"row {row.row} of {context.file_name}"
    if what:
        record_details(act, item, {name: details[name] for name in what}, why, derive=False)
    if row.quantity is not None and item.counted and row.quantity != item.quantity:
        count_stock(act, item, row.quantity, why)
        what.append("quantity")
    if row.state and row.state != item.state and _change_state(act, row, item, context):
        what.append("state")
    if sets_differ(row, item):
        what.append("set")  # written at the end, when all pieces are in and where they belong
    return what


def _change_state(act: Act, row: ItemRow, item: Item, context: Context) -> bool:
    why = str(row.details.get("note") or f"{row.state} in the register loaded ({context.file_name})")
    if row.state == State.AVAILABLE or item.state == State.WITHDRAWN:
        # A spreadsheet cannot release: that takes a person who neither failed nor quarantined it.
        _warn_state(context, row, item)
        return False
    if row.state == State.QUARANTINED and item.state == State.LOST:
        find_again(act, item, why)
    elif row.state == State.QUARANTINED:
        quarantine(act, item, why)
    elif row.state == State.LOST:
        lose(act, item, why)
    elif fresh(item).custody == Custody.STORE:
        withdraw(act, item, why)
    else:
        _warn_state(context, row, item)
        return False
    return True


def _warn_state(context: Context, row: ItemRow, item: Item) -> None:
    context.warn(
        SHEET,
        row.row,
        "state",
        row.state,
        f"{item.tag} is {item.get_state_display().lower()} ({item.get_custody_display().lower()}) in the register "
        "and stays so: change its state on its own page, where a person signs for it.",
    )
