"""The sheet Items: new items, changed details, and states that a depot hands over with its register."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from kit.models import Custody, Depot, Item, Kind, Place, State
from kit.planning.printed_dates import first_day
from kit.stores import (
    Act,
    change_details,
    chunked,
    count_stock,
    depot_named,
    find_again,
    fresh,
    lose,
    place_named,
    quarantine,
    receive,
    withdraw,
)
from kit.stores.act import canonical_of, canonical_value
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault
from kit.workbooks.loading import Context, KindNames
from kit.workbooks.look_alikes import look_alike_key
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Items"
_TEXTS = {"maker": 80, "serial": 80, "batch": 80, "mark": 40, "note": 500}
_MOST_QUANTITY = 1_000_000


@dataclass(slots=True)
class _ItemRow:
    """A row as read: only columns that the sheet has are in `details`, so that an absent one changes nothing."""

    row: int
    tag: str
    kind: KindNames
    depot: str
    place: str | None
    state: str | None
    quantity: int | None
    details: dict[str, Any] = field(default_factory=dict)


class ItemsLoader:
    def __init__(self) -> None:
        self.rows: list[_ItemRow] = []

    # Reading ---------------------------------------------------------------------------------------------------

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        rows_by_tag: dict[str, int] = {}
        known = dict(context.kind_of_tag)
        serials: dict[tuple[str, str, str], int] = {}
        readers: dict[int, RowReader] = {}
        for reader in context.readers(sheet):
            item = self._read_row(reader, sheet, context, known)
            tag = (
                reader.text("tag", required=True, most=60)
                if item is None and "tag" not in reader.faulty
                else ""
            )
            tag = item.tag if item else tag
            if tag:
                if tag in rows_by_tag:
                    reader.fault(
                        "tag",
                        f"Row {rows_by_tag[tag]} has this tag already, and a tag belongs to one item for ever.",
                    )
                    continue
                rows_by_tag[tag] = reader.row.number
                context.kind_of_tag[tag] = item.kind.name if item else known.get(tag)
            if item is None:
                continue
            serial = item.details.get("serial", "")
            if serial:
                key = (item.details.get("maker", ""), item.kind.name, serial)
                if key in serials:
                    maker = f" of {key[0]}" if key[0] else ""
                    reader.fault(
                        "serial",
                        f"Row {serials[key]} has this serial{maker} for a {item.kind.name} already: a maker's serial "
                        "belongs to one item of a kind.",
                    )
                    continue
                serials[key] = reader.row.number
                readers[reader.row.number] = reader
            self.rows.append(item)
        self._against_register(readers, rows_by_tag)
        self._warn_of_look_alikes(context, rows_by_tag)

    def _read_row(
        self, reader: RowReader, sheet: RegisterSheet, context: Context, known: dict[str, str | None]
    ) -> _ItemRow | None:
        """The row, or None if it has a fault that leaves it unclear what the item is."""
        tag = reader.text("tag", required=True, most=60)
        kind = context.kind(reader)
        depot = reader.text("depot", required=True, most=40)
        details: dict[str, Any] = {
            name: reader.text(name, most=most) for name, most in _TEXTS.items() if name in sheet.columns
        }
        self._read_bores(reader, sheet, details)
        self._read_dates(reader, sheet, context, kind, details)
        place = reader.text("place", most=80) if "place" in sheet.columns else None
        state = reader.choice("state", State.values)
        quantity = self._read_quantity(reader, sheet, kind, tag in known)
        if not tag or kind is None or not depot:
            return None
        if tag in known and known[tag] != kind.name:
            reader.fault(
                "kind",
                f"{tag} is a {known[tag]} in the register: a tag never changes to another kind. Give the new item a "
                "tag of its own.",
            )
            return None
        return _ItemRow(reader.row.number, tag, kind, depot, place, state, quantity, details)

    @staticmethod
    def _read_bores(reader: RowReader, sheet: RegisterSheet, details: dict[str, Any]) -> None:
        columns = [name for name in ("bore_min_mm", "bore_max_mm") if name in sheet.columns]
        for name in columns:
            details[name] = reader.decimal_mm(name)
            if details[name] == 0:
                reader.fault(
                    name, "A bore of 0 mm cannot be: write the bore in mm, or leave both cells empty."
                )
        if reader.faulty & {"bore_min_mm", "bore_max_mm"} or not columns:
            return
        low, high = details.get("bore_min_mm"), details.get("bore_max_mm")
        if (low is None) != (high is None):
            missing = "bore_min_mm" if low is None else "bore_max_mm"
            where = missing if missing in columns else columns[0]
            reader.fault(
                where, f"A bore range has two ends and {missing} is missing: write both, or neither."
            )
        elif low is not None and high is not None and low > high:
            reader.fault(
                "bore_max_mm",
                f"The range runs from {low.normalize():f} to {high.normalize():f} mm: exchange the two.",
            )

    @staticmethod
    def _read_dates(
        reader: RowReader,
        sheet: RegisterSheet,
        context: Context,
        kind: KindNames | None,
        details: dict[str, Any],
    ) -> None:
        convention: Any = ""
        if kind is not None:
            maker = str(details.get("maker", "")).casefold()
            convention = kind.maker_labels.get(maker, kind.short_date)
        if "made_on" in sheet.columns:
            made = reader.printed_date("made_on", today=context.today, convention=convention)
            details["made_on"] = first_day(made) if made else None
            if details["made_on"] and details["made_on"] > context.today:
                reader.fault(
                    "made_on", "This day is in the future: write the day on which the item was made."
                )
        if "use_by" in sheet.columns:
            use_by = reader.printed_date("use_by", today=context.today, convention=convention)
            details["use_by"] = use_by.day if use_by else None
            details["use_by_precision"] = use_by.precision if use_by else "day"
            details["use_by_text"] = use_by.text[:40] if use_by else ""
            made_on = details.get("made_on")
            if use_by and made_on and not reader.faulty & {"made_on", "use_by"} and use_by.day < made_on:
                reader.fault(
                    "use_by",
                    f"The use-by date lies before the day it was made, {made_on}: one of the two is wrong.",
                )

    @staticmethod
    def _read_quantity(
        reader: RowReader, sheet: RegisterSheet, kind: KindNames | None, known: bool
    ) -> int | None:
        quantity = reader.whole_number("quantity", most=_MOST_QUANTITY)
        if kind is None or "quantity" in reader.faulty:
            return quantity
        if not kind.counted:
            if quantity not in (None, 1):
                reader.fault(
                    "quantity",
                    f"A {kind.name} is a single piece with a tag of its own: leave the quantity empty, or write 1.",
                )
            return None
        if quantity is None and not known:
            column = "quantity" if "quantity" in sheet.columns else "kind"
            reader.fault(column, f"{kind.name} is counted: write how many there are in quantity.")
        return quantity

    def _against_register(self, readers: dict[int, RowReader], rows_by_tag: dict[str, int]) -> None:
        """Serials that another item of the register, not in the file, has already."""
        by_serial: dict[str, list[_ItemRow]] = {}
        for row in self.rows:
            if row.row in readers:
                by_serial.setdefault(row.details["serial"], []).append(row)
        clashing = set()
        for chunk in chunked(sorted(by_serial)):
            taken = Item.objects.filter(serial__in=chunk).values_list("serial", "maker", "kind__name", "tag")
            for serial, maker, kind, tag in taken:
                if tag in rows_by_tag:
                    continue
                for row in by_serial[serial]:
                    if row.kind.name == kind and row.details.get("maker", "") == maker:
                        readers[row.row].fault(
                            "serial", f"{tag} in the register is a {kind} with this maker and serial already."
                        )
                        clashing.add(row.row)
        self.rows = [row for row in self.rows if row.row not in clashing]

    @staticmethod
    def _warn_of_look_alikes(context: Context, rows_by_tag: dict[str, int]) -> None:
        first: dict[str, str] = {}
        for tag in (*(t for t in context.kind_of_tag if t not in rows_by_tag), *rows_by_tag):
            other = first.setdefault(look_alike_key(tag), tag)
            if other != tag and tag in rows_by_tag:
                where = f"row {rows_by_tag[other]}" if other in rows_by_tag else "the register"
                context.report.warnings.add(
                    Fault(
                        SHEET,
                        rows_by_tag[tag],
                        "tag",
                        tag,
                        f"This tag is easily taken for {other} in {where}: they differ only in case, dashes or "
                        "letters that look alike. Check the label.",
                    )
                )

    # Writing ---------------------------------------------------------------------------------------------------

    def apply(self, act: Act, context: Context) -> None:
        kinds = {kind.name: kind for kind in Kind.objects.all()}
        depots = self._depots(act)
        places = self._places(act, depots)
        existing: dict[str, Item] = {}
        for chunk in chunked([row.tag for row in self.rows]):
            found = Item.objects.filter(tag__in=chunk).select_related("kind", "depot", "place")
            existing.update((item.tag, item) for item in found)
        new: list[Item] = []
        for row in self.rows:
            item = existing.get(row.tag)
            place = places.get((row.depot, row.place)) if row.place else None
            if item is None:
                new.append(self._new_item(row, kinds[row.kind.name], depots[row.depot], place, context))
                context.note(SHEET, row.row, row.tag, "new")
                continue
            what = self._change(act, row, item, depots[row.depot], place, context)
            if what:
                context.touched.add(item.pk)
            context.note(SHEET, row.row, row.tag, "changed" if what else "unchanged", ", ".join(what))
        made = receive(act, new, derive=False)
        context.touched.update(item.pk for item in made)

    def _depots(self, act: Act) -> dict[str, Depot]:
        return {code: depot_named(act, code) for code in sorted({row.depot for row in self.rows})}

    def _places(self, act: Act, depots: dict[str, Depot]) -> dict[tuple[str, str], Place]:
        wanted = sorted({(row.depot, row.place) for row in self.rows if row.place})
        return {(depot, name): place_named(act, depots[depot], name) for depot, name in wanted}

    @staticmethod
    def _new_item(row: _ItemRow, kind: Kind, depot: Depot, place: Place | None, context: Context) -> Item:
        item = Item(
            tag=row.tag,
            kind=kind,
            depot=depot,
            place=place,
            state=row.state or State.AVAILABLE,
            **row.details,
        )
        if kind.counted:
            item.quantity = row.quantity or 0
        if item.state != State.AVAILABLE:
            item.state_why = item.note or f"{row.state} in the register handed over ({context.file_name})"
        return item

    def _change(
        self, act: Act, row: _ItemRow, item: Item, depot: Depot, place: Place | None, context: Context
    ) -> list[str]:
        """Change an existing item as its row says; the names of what changed."""
        details = dict(row.details, depot=depot)
        if row.place is not None:
            details["place"] = place
        what = [name for name, value in details.items() if canonical_of(item, name) != canonical_value(value)]
        if what:
            note = f"row {row.row} of {context.file_name}"
            change_details(act, item, note=note, derive=False, **{name: details[name] for name in what})
        if row.quantity is not None and item.counted and row.quantity != item.quantity:
            count_stock(act, item, row.quantity, why=f"row {row.row} of {context.file_name}")
            what.append("quantity")
        if row.state and row.state != item.state and self._change_state(act, row, item, context):
            what.append("state")
        return what

    def _change_state(self, act: Act, row: _ItemRow, item: Item, context: Context) -> bool:
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


def _warn_state(context: Context, row: _ItemRow, item: Item) -> None:
    context.report.warnings.add(
        Fault(
            SHEET,
            row.row,
            "state",
            row.state,
            f"{item.tag} is {item.get_state_display().lower()} ({item.get_custody_display().lower()}) in the register "
            "and stays so: change its state on its own page, where a person signs for it.",
        )
    )
