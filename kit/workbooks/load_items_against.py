"""Item rows held against each other and against the register, as the items will stand once they are loaded.

A column that the sheet does not have keeps what the register has, so a row can only be judged together with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from kit.models import Custody, Item
from kit.stores import chunked
from kit.workbooks.cells import RowReader
from kit.workbooks.item_rows import ItemRow

_COLUMNS = ("maker", "serial", "bore_min_mm", "bore_max_mm", "made_on", "use_by", "depot__code", "custody")


@dataclass(frozen=True, slots=True)
class _Known:
    """An item as the register has it."""

    maker: str
    serial: str
    bore_min_mm: Decimal | None
    bore_max_mm: Decimal | None
    made_on: date | None
    use_by: date | None
    depot: str
    custody: str


class RegisterCheck:
    """Adds a fault for each row that the register, or another row, speaks against. `readers` by row number."""

    def __init__(self, rows: Sequence[ItemRow], readers: dict[int, RowReader]) -> None:
        self.rows = rows
        self.readers = readers
        self.known: dict[str, _Known] = {}
        for chunk in chunked([row.tag for row in rows]):
            for tag, *columns in Item.objects.filter(tag__in=chunk).values_list("tag", *_COLUMNS):
                self.known[tag] = _Known(*columns)

    def sound_rows(self) -> list[ItemRow]:
        """The rows that nothing speaks against."""
        refused = {row.row for row in self.rows if not self._stands(row)}
        refused |= self._serials_taken()
        return [row for row in self.rows if row.row not in refused]

    def _after(self, row: ItemRow, column: str) -> Any:
        """What the item will have in a column."""
        known = self.known.get(row.tag)
        return row.details.get(column, getattr(known, column) if known else None)

    def _stands(self, row: ItemRow) -> bool:
        reader = self.readers[row.row]
        known = self.known.get(row.tag)
        if known is not None and known.depot != row.depot and known.custody != Custody.STORE:
            where = (
                "on site: take it back"
                if known.custody == Custody.ON_SITE
                else "in transit: take it in at its depot"
            )
            reader.fault(
                "depot", f"{row.tag} is {where} before it is moved from {known.depot} to {row.depot}."
            )
            return False
        return self._range_stands(row, reader) and self._dates_stand(row, reader)

    def _range_stands(self, row: ItemRow, reader: RowReader) -> bool:
        """Where the sheet has one end of the range only; with both, the row was judged when it was read."""
        ends = [name for name in ("bore_min_mm", "bore_max_mm") if name in row.details]
        if len(ends) != 1 or ends[0] in reader.faulty:
            return True
        [here] = ends
        other = "bore_max_mm" if here == "bore_min_mm" else "bore_min_mm"
        low, high = self._after(row, "bore_min_mm"), self._after(row, "bore_max_mm")
        if (low is None) != (high is None):
            missing = "bore_min_mm" if low is None else "bore_max_mm"
            why = f"A bore range has two ends and {missing} is missing: give the sheet both columns."
        elif low is not None and high is not None and low > high:
            why = (
                f"With {other} as the register has it the range would run from {low.normalize():f} to "
                f"{high.normalize():f} mm: give the sheet both columns."
            )
        else:
            return True
        reader.fault(here, why)
        return False

    def _dates_stand(self, row: ItemRow, reader: RowReader) -> bool:
        dates = [name for name in ("made_on", "use_by") if name in row.details]
        if len(dates) != 1 or dates[0] in reader.faulty:
            return True
        made_on, use_by = self._after(row, "made_on"), self._after(row, "use_by")
        if made_on is None or use_by is None or made_on <= use_by:
            return True
        reader.fault(
            dates[0],
            f"{row.tag} would be made on {made_on} and used up by {use_by}, as the register has the other date: "
            "one of the two is wrong.",
        )
        return False

    def _serials_taken(self) -> set[int]:
        """Rows whose maker's serial another row, or an item of the register that no row is of, has already."""
        first: dict[tuple[str, str, str], ItemRow] = {}
        refused: set[int] = set()
        for row in self.rows:
            serial = self._after(row, "serial")
            if not serial or self.readers[row.row].faulty & {"maker", "serial"}:
                continue
            key = (serial, self._after(row, "maker") or "", row.kind)
            other = first.setdefault(key, row)
            if other is row:
                continue
            maker = f" of {key[1]}" if key[1] else ""
            self._fault(
                row,
                f"Row {other.row} has this serial{maker} for a {row.kind} already: a maker's serial belongs to one "
                "item of a kind.",
            )
            refused.add(row.row)
        for chunk in chunked(sorted({serial for serial, _, _ in first})):
            taken = Item.objects.filter(serial__in=chunk).values_list("serial", "maker", "kind__name", "tag")
            for serial, maker, kind, tag in taken:
                clash = first.get((serial, maker, kind))
                if clash is not None and tag != clash.tag and tag not in self.known:
                    self._fault(
                        clash, f"{tag} in the register is a {kind} with this maker and serial already."
                    )
                    refused.add(clash.row)
        return refused

    def _fault(self, row: ItemRow, why: str) -> None:
        """At the serial, or at the maker where the sheet changes that alone."""
        self.readers[row.row].fault("serial" if "serial" in row.details else "maker", why)
