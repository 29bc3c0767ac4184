"""The sheet Mains: rows of the depot's own table of mains, by material and size."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from kit.planning.mains import same_row
from kit.stores import Act, set_size
from kit.stores.act import canonical_of, canonical_value
from kit.stores.mains import size_named
from kit.workbooks.cells import MOST_MM, RowReader
from kit.workbooks.load_context import Context
from kit.workbooks.load_report import RowOutcome
from kit.workbooks.register_sheet import RegisterSheet

_MOST_MM: Final = {"inside_mm": MOST_MM, "outside_mm": MOST_MM, "wall_mm": Decimal(500)}


@dataclass(slots=True)
class _SizeRow:
    row: int
    material: str
    size: str
    lengths: dict[str, Decimal | None]
    source: str
    note: str


class MainsLoader:
    """What a row leaves empty is not recorded: a row says all that the table has of its size."""

    def __init__(self) -> None:
        self.rows: list[_SizeRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        for reader in context.readers(sheet):
            row = self._read_row(reader)
            if not row.material or not row.size:
                continue
            same = (
                each for each in self.rows if same_row((row.material, row.size), (each.material, each.size))
            )
            if (first := next(same, None)) is not None:
                reader.fault(
                    "size", f"Row {first.row} is {first.material} {first.size} already: keep one of the two."
                )
                continue
            self._refuse_lengths(reader, row)
            self.rows.append(row)

    @staticmethod
    def _read_row(reader: RowReader) -> _SizeRow:
        material = reader.text("material", required=True, most=60)
        size = reader.text("size", required=True, most=40)
        lengths: dict[str, Decimal | None] = {}
        for name, most in _MOST_MM.items():
            lengths[name] = reader.decimal(name, unit="mm", most=most)
            if lengths[name] == 0:
                reader.fault(name, "0 mm cannot be: write the length in mm, or leave the cell empty.")
        source = reader.text("source", required=True, most=200)
        return _SizeRow(reader.row.number, material, size, lengths, source, reader.text("note", most=300))

    @staticmethod
    def _refuse_lengths(reader: RowReader, row: _SizeRow) -> None:
        """One fault where the lengths of a row give no bore, or contradict each other."""
        if reader.faulty & _MOST_MM.keys():
            return
        inside, outside, wall = (row.lengths[name] for name in _MOST_MM)
        if wall is not None and outside is None:
            reader.fault(
                "wall_mm", "A wall alone says nothing: write the outside diameter too, or leave it empty."
            )
        elif inside is None and (outside is None or wall is None):
            reader.fault(
                "inside_mm",
                "This gives no bore: write the inside diameter, or the outside diameter and the wall.",
            )
        elif outside is not None and wall is not None and 2 * wall >= outside:
            reader.fault(
                "wall_mm", "Twice the wall is not less than the outside diameter: one of them is wrong."
            )
        elif inside is not None and outside is not None and inside >= outside:
            reader.fault("inside_mm", "It is not less than the outside diameter: one of them is wrong.")
        elif inside is not None and outside is not None and wall is not None and inside != outside - 2 * wall:
            left = f"{(outside - 2 * wall).normalize():f}"
            reader.fault(
                "inside_mm",
                f"The outside diameter less twice the wall is {left} mm: correct one, or leave the wall empty.",
            )

    def apply(self, act: Act, context: Context) -> None:
        for row in self.rows:
            known = size_named(row.material, row.size)
            values = {**row.lengths, "source": row.source, "note": row.note, "withdrawn": False}
            what = [
                name
                for name, value in values.items()
                if known is not None and canonical_of(known, name) != canonical_value(value)
            ]
            name = f"{row.material} {row.size}"
            with context.writing("Mains", row.row):
                set_size(act, row.material, row.size, source=row.source, note=row.note, **row.lengths)
            outcome: RowOutcome = "new" if known is None else "changed" if what else "unchanged"
            context.note("Mains", row.row, name, outcome, ", ".join(what))
