"""The sheet Items: new items, changed details, and states that a depot hands over with its register."""

from __future__ import annotations

from typing import Any

from kit.models import Item, State
from kit.planning.printed_dates import first_day
from kit.stores import Act
from kit.workbooks.cells import RowReader
from kit.workbooks.item_rows import ItemRow
from kit.workbooks.load_context import Context, KindNames
from kit.workbooks.load_item_sets import COLUMN, SetCheck, write_sets
from kit.workbooks.load_items_against import RegisterCheck
from kit.workbooks.load_items_writing import write_items
from kit.workbooks.look_alikes import look_alike_key
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Items"
_TEXTS = {"maker": 80, "serial": 80, "batch": 80, "mark": 40, "note": 500}
_MOST_QUANTITY = 1_000_000
_STATES = State.values


class ItemsLoader:
    def __init__(self) -> None:
        self.rows: list[ItemRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        context.depots_with_items.update(Item.objects.values_list("depot__code", flat=True).distinct())
        rows_by_tag: dict[str, int] = {}
        known = dict(context.kind_of_tag)
        readers: dict[int, RowReader] = {}
        sets_of_rows: dict[int, str] = {}
        for reader in context.readers(sheet):
            tag = reader.text("tag", required=True, most=60)
            kind = context.kind(reader)
            item = self._read_row(reader, sheet, context, tag, kind, tag in known)
            if COLUMN in sheet.columns:
                name = reader.text(COLUMN, most=60)
                sets_of_rows[reader.row.number] = name.casefold()
                if item is not None:
                    item.set_name = name
            if tag:
                if tag in rows_by_tag:
                    reader.fault(
                        "tag",
                        f"Row {rows_by_tag[tag]} has this tag already, and a tag belongs to one item for ever.",
                    )
                    continue
                rows_by_tag[tag] = reader.row.number
                context.kind_of_tag[tag] = kind.name if kind else None
                if kind and known.get(tag, kind.name) != kind.name:
                    # Which of the two it is cannot be told, so neither can which checks it has.
                    context.kind_of_tag[tag] = None
                    reader.fault(
                        "kind",
                        f"{tag} is a {known[tag]} in the register: a tag never changes to another kind. Give the "
                        "new item a tag of its own.",
                    )
                    continue
            if item is not None:
                context.depots_with_items.add(item.depot)
                readers[item.row] = reader
                self.rows.append(item)
        self.rows = RegisterCheck(self.rows, readers).sound_rows()
        sound = {row.row for row in self.rows}
        unclear = {name for number, name in sets_of_rows.items() if number not in sound}
        self.rows = SetCheck(self.rows, readers, unclear, context).sound_rows()
        context.item_rows = {row.tag: row for row in self.rows}
        _warn_of_look_alikes(context, rows_by_tag)

    def apply(self, act: Act, context: Context) -> None:
        write_items(act, context, self.rows)
        # Once every due date is worked out, as what is promised is judged by them.
        context.at_end.append(lambda act: write_sets(act, context, self.rows))

    def _read_row(
        self,
        reader: RowReader,
        sheet: RegisterSheet,
        context: Context,
        tag: str,
        kind: KindNames | None,
        known: bool,
    ) -> ItemRow | None:
        """The row, or None if it has a fault that leaves it unclear what the item is."""
        depot = reader.text("depot", required=True, most=40)
        details: dict[str, Any] = {
            name: reader.text(name, most=most) for name, most in _TEXTS.items() if name in sheet.columns
        }
        self._read_bores(reader, sheet, details)
        self._read_dates(reader, sheet, context, kind, details)
        place = reader.text("place", most=80) if "place" in sheet.columns else None
        state = reader.choice("state", _STATES)
        quantity = self._read_quantity(reader, sheet, kind, known)
        if not tag or kind is None or not depot:
            return None
        return ItemRow(reader.row.number, tag, kind.name, depot, place, state, quantity, details)

    @staticmethod
    def _read_bores(reader: RowReader, sheet: RegisterSheet, details: dict[str, Any]) -> None:
        columns = [name for name in ("bore_min_mm", "bore_max_mm") if name in sheet.columns]
        for name in columns:
            details[name] = reader.decimal_mm(name)
            if details[name] == 0:
                reader.fault(
                    name, "A bore of 0 mm cannot be: write the bore in mm, or leave both cells empty."
                )
        if reader.faulty & {"bore_min_mm", "bore_max_mm"} or len(columns) < 2:
            return
        low, high = details["bore_min_mm"], details["bore_max_mm"]
        if (low is None) != (high is None):
            missing = "bore_min_mm" if low is None else "bore_max_mm"
            reader.fault(
                missing, f"A bore range has two ends and {missing} is missing: write both, or neither."
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
        if kind is None or kind.counted is None or "quantity" in reader.faulty:
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


def _warn_of_look_alikes(context: Context, rows_by_tag: dict[str, int]) -> None:
    first: dict[str, str] = {}
    for tag in (*(t for t in context.kind_of_tag if t not in rows_by_tag), *rows_by_tag):
        other = first.setdefault(look_alike_key(tag), tag)
        if other != tag and tag in rows_by_tag:
            where = f"row {rows_by_tag[other]}" if other in rows_by_tag else "the register"
            context.warn(
                SHEET,
                rows_by_tag[tag],
                "tag",
                tag,
                f"This tag is easily taken for {other} in {where}: they differ only in case, dashes or letters "
                "that look alike. Check the label.",
            )
