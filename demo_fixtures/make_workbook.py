"""Make the register workbook that the invented depots Quillby and Ostermere would hand over on a given day.

    python -m demo_fixtures.make_workbook --day 2026-11-25 -o two_depots.xlsx

Every date in it counts from that day, and the same day always gives the same file.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterable, Sequence
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from demo_fixtures.depots import DEPOT_COLUMNS, DEPOT_ROWS, WAY_COLUMNS, WAY_ROWS
from demo_fixtures.faults import pieces_at_fault
from demo_fixtures.jobs import ARRANGEMENT_COLUMNS, ARRANGEMENT_ROWS, jobs
from demo_fixtures.readings import CalibrationRow, HoldTestRow, open_books
from demo_fixtures.regimes import HOLD, HOLD_IN_PSI, KIND_COLUMNS, KIND_ROWS, REGIMES, WITHOUT_CHECKS
from demo_fixtures.rows import InspectionRow, ItemRow, JobRow, columns, same_every_time
from demo_fixtures.store_list import coupled_pieces, sound_pieces

SEED = 20_261_125
JUDGED_COLUMNS = (
    "method", "unit", "max_pressure", "max_drop", "hold_minutes", "guard", "accuracy_class", "span",
)  # fmt: skip
CHECK_COLUMNS = (
    "kind", "check", "interval", "basis", "early_days", "gates", "source", "after_use", *JUDGED_COLUMNS,
)  # fmt: skip
_WIDEST = 44


def build(day: date) -> bytes:
    """The workbook of that day as the bytes of an .xlsx file."""
    with same_every_time(SEED):
        items: list[ItemRow] = []
        inspections: list[InspectionRow] = []
        # Those at fault come first, so that the numbers of their tags stay when the stores grow.
        for piece in (*pieces_at_fault(day), *sound_pieces(), *coupled_pieces()):
            item, past = piece.rows(day)
            items.append(item)
            inspections.extend(past)
        planned = list(jobs(day))
    books = open_books(items, inspections, SEED)
    book = Workbook()
    book.remove(book.worksheets[0])
    _sheet(book, "Kinds", KIND_COLUMNS, KIND_ROWS)
    _sheet(book, "Checks", CHECK_COLUMNS, _check_rows())
    # A store lists its pieces as it walks past them, not in the order they were bought.
    items.sort(key=lambda item: (item.depot, item.place, item.kind, item.tag))
    _sheet(book, "Items", columns(ItemRow), _values(items, columns(ItemRow)))
    for title, row, listed in (
        ("Inspections", InspectionRow, books.inspections),
        ("Hold tests", HoldTestRow, books.hold_tests),
        ("Calibrations", CalibrationRow, books.calibrations),
    ):
        _sheet(book, title, columns(row), _values(listed, columns(row)))
    _sheet(book, "Arrangements", ARRANGEMENT_COLUMNS, ARRANGEMENT_ROWS)
    _sheet(book, "Jobs", columns(JobRow), _values(planned, columns(JobRow)))
    _sheet(book, "Depots", DEPOT_COLUMNS, DEPOT_ROWS)
    _sheet(book, "Ways", WAY_COLUMNS, WAY_ROWS)
    return _packed(book, day)


def _check_rows() -> Iterable[tuple[Any, ...]]:
    for regime in REGIMES:
        yield (
            regime.kind,
            regime.check,
            f"P{regime.months}M",
            regime.basis,
            regime.early_days or None,
            "yes" if regime.gates else "no",
            regime.source,
            "yes" if regime.after_use else "no",
            *(regime.judged.get(column) for column in JUDGED_COLUMNS),
        )
        if regime.judged is HOLD:
            blank = [None] * (len(CHECK_COLUMNS) - len(JUDGED_COLUMNS) - 3)
            further = (HOLD_IN_PSI.get(column) for column in JUDGED_COLUMNS)
            yield (regime.kind, regime.check, f"P{regime.months}M", *blank, *further)
    for kind in WITHOUT_CHECKS:
        yield (kind, *[None] * (len(CHECK_COLUMNS) - 1))


def _values(rows: Iterable[object], names: Sequence[str]) -> Iterable[tuple[Any, ...]]:
    return ([getattr(row, name) for name in names] for row in rows)  # type: ignore[misc]


def _sheet(book: Workbook, title: str, headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    sheet = book.create_sheet(title)
    sheet.append(list(headings))
    widest = [len(heading) for heading in headings]
    for number, row in enumerate(rows, 2):
        sheet.append(list(row))
        widest = [max(w, len(str(v)) if v is not None else 0) for w, v in zip(widest, row, strict=True)]
        for column, value in enumerate(row, 1):
            if isinstance(value, date):
                sheet.cell(number, column).number_format = "dd/mm/yyyy"
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for number, width in enumerate(widest, 1):
        sheet.column_dimensions[get_column_letter(number)].width = min(width + 2, _WIDEST)
    sheet.freeze_panes = "B2"
    sheet.auto_filter.ref = sheet.dimensions


def _packed(book: Workbook, day: date) -> bytes:
    """The file's bytes, without the moment of saving that a workbook otherwise carries in two places."""
    saved, packed = BytesIO(), BytesIO()
    book.save(saved)
    moment = f"{day.isoformat()}T06:00:00Z".encode()
    with ZipFile(saved) as source, ZipFile(packed, "w", ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name)
            if name == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", moment, content)
            entry = ZipInfo(name, (day.year, day.month, day.day, 6, 0, 0))
            entry.compress_type = ZIP_DEFLATED
            target.writestr(entry, content)
    return packed.getvalue()


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a date: write it as YYYY-MM-DD, for example 2026-11-25"
        ) from None


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m demo_fixtures.make_workbook", description=__doc__)
    parser.add_argument(
        "--day", type=_day, required=True, metavar="DATE", help="the day that dates count from"
    )
    parser.add_argument("-o", "--output", type=Path, default=Path("two_depots.xlsx"), metavar="FILE")
    options = parser.parse_args(arguments)
    try:
        options.output.write_bytes(build(options.day))
    except OSError as error:
        sys.stderr.write(f"{options.output} cannot be written: {error.strerror}. Name another file.\n")
        return 2
    sys.stderr.write(f"written: {options.output}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
