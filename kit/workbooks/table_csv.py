"""Writing a table as .csv: RFC 4180, in UTF-8 with the mark at its head by which spreadsheets know it.

A .csv has no types, so text that a spreadsheet program could take for a formula (see `writing.FORMULA_STARTS`) gets
an apostrophe before it, which such a program does not evaluate. Numbers and dates stay as they are.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import IO

from kit.workbooks.writing import FORMULA_STARTS, Column

_EACH = 1000  # Rows between two writes.


def write_table_csv(target: IO[bytes], columns: Sequence[Column], rows: Iterable[Sequence[object]]) -> None:
    """Write headings and rows to an open binary file; rows are written as they come and not kept."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    target.write(b"\xef\xbb\xbf")
    writer.writerow([csv_text(column.heading) for column in columns])
    for number, row in enumerate(rows, start=1):
        writer.writerow([csv_text(value) for value in row])
        if number % _EACH == 0:
            _pour(text, target)
    _pour(text, target)


def csv_text(value: object) -> str:
    """A value as it stands in a .csv: ISO 8601 for days and moments, a point in numbers, guarded text."""
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.strftime("%Y-%m-%d %H:%M")
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
        return f"{value:f}" if isinstance(value, Decimal) else str(value)
    text = str(value).replace("\x00", "")
    return f"'{text}" if text[:1] in FORMULA_STARTS else text


def _pour(text: io.StringIO, target: IO[bytes]) -> None:
    target.write(text.getvalue().encode("utf-8", "replace"))
    text.seek(0)
    text.truncate()
