"""Numbers that were read at a bench, as cells hold them."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from kit.workbooks.cells import RowReader

MOST_READ: Final = Decimal(10_000_000)
"""Beyond any pressure in mbar, time in minutes or temperature here: a slip of the keyboard."""

# A spreadsheet's 0.1 + 0.2 has a wrong seventeenth digit; no gauge shows nine behind the point.
_PLACES: Final = 9


def read_number(
    reader: RowReader, column: str, *, least: Decimal = Decimal(0), required: bool = False
) -> Decimal | None:
    """The number in a cell, without noughts at its end: what a spreadsheet adds was not read."""
    value = reader.decimal(column, places=_PLACES, least=least, most=MOST_READ, required=required)
    return None if value is None else Decimal(format(value.normalize(), "f"))
