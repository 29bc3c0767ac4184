"""Writing tables as .xlsx workbooks: a summary sheet first, then the table with real dates and numbers.

Text that a spreadsheet program could take for a formula (OWASP, CSV Injection: a first character = + - @, tab
or line break; the full-width forms besides) is written as text by type, which no program evaluates, and
carries the mark that a typed apostrophe leaves in a cell's format, so that it stays text when it is edited.
The text itself is not altered: a tag -12 stays -12 and can be loaded again. A .csv has no types and would
needs a visible apostrophe instead (kit.workbooks.table_csv).
"""

from __future__ import annotations

import datetime as dt
import io
import math
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import chain, islice
from pathlib import Path
from typing import IO, Any, Final, Literal

from django.utils.text import capfirst
from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _
from openpyxl import Workbook
from openpyxl.cell.cell import ERROR_CODES, Cell, WriteOnlyCell
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from kit import sentences
from kit.workbooks.faults import Faults

FORMULA_STARTS: Final = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
"""First characters of text that a spreadsheet program may take for a formula; four are full-width."""
ROWS_A_SHEET: Final = 1_000_000
"""A sheet ends at 1,048,576 rows; a longer table goes on in a further sheet."""

_MOST_LINKS: Final = 60_000  # A sheet with more than 65,530 is "repaired" on opening.
_MOST_CHARACTERS: Final = 32_767
_LINE_POINTS: Final = 15
_FILLED: Final = 0.9  # Of a line, on average, where words are kept whole.
_WRAPS_FROM: Final = 40  # Characters: a column as wide as this holds sentences.
_NOT_XML: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_NOT_IN_A_TITLE: Final = re.compile(r"[\[\]:*?/\\\x00-\x1f]+")
_LINK_SCHEMES: Final = ("https://", "http://", "mailto:")
_WIDTHS: Final = {"text": 22, "date": 12, "integer": 10, "decimal": 12, "link": 22}
_BOLD: Final = Font(name="Calibri", size=11, bold=True)
_TITLE: Final = Font(name="Calibri", size=14, bold=True)
_LINK: Final = Font(name="Calibri", size=11, color="FF0000CC", underline="single")

Kind = Literal["text", "date", "integer", "decimal", "link"]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading, what it holds, and its width in characters (0: the usual one).

    A link's value is a pair of text and address. Values are written by their own type: a number is never
    turned into text, and text in a date column ("never") stays text. A moment needs a width of 17. Texts of a `said`
    column are words of the program, and are written in the reader's language where the workbook is.
    """

    heading: str
    kind: Kind = "text"
    width: float = 0
    said: bool = False


def width_of(column: Column) -> float:
    """Its width in characters."""
    return column.width or max(_WIDTHS[column.kind], len(column.heading) + 4)


def write_table_workbook(
    target: str | os.PathLike[str] | IO[bytes],
    title: str,
    columns: Sequence[Column],
    rows: Iterable[Sequence[object]],
    facts: Mapping[str, object],
    summary: Sequence[tuple[str, int | float | Decimal]] = (),
    *,
    for_people: bool = False,
) -> None:
    """Write the rows as an .xlsx workbook to a path or an open binary file.

    First a sheet Summary with the title, the facts (query, as-of date, who, when, ledger mark) and the counts
    of `summary`; then the table under bold frozen headings with filters, set up to print on A4 across. Rows
    are written as they come and not kept. At a path nothing is left, and an older file stays, if it fails.
    Moments that carry a zone are written as that zone's clock shows them.

    `for_people`: title, headings, facts and the texts of said columns are English as given, and are written in the
    active language. A table that is to be loaded again keeps its headings.
    """
    if for_people:
        title = in_language(title)
        rows = _rows_said(columns, rows)
        columns = [replace(column, heading=in_language(column.heading)) for column in columns]
        facts = {in_language(name): _fact_said(value) for name, value in facts.items()}
        summary = [(in_language(name), number) for name, number in summary]
    book = Workbook(write_only=True)
    book.properties.creator = "Fettlebook"
    book.properties.title = clean_text(title)
    _write_summary(book, title, facts, summary)
    remaining = iter(rows)
    try:
        _write_table(book, title, 1, columns, islice(remaining, ROWS_A_SHEET))
        for number, row in enumerate(remaining, start=2):
            _write_table(book, title, number, columns, chain([row], islice(remaining, ROWS_A_SHEET - 1)))
    except BaseException:
        for sheet in book.worksheets:  # Left open they complain when they are collected.
            sheet.close()
        raise
    if isinstance(target, (str, os.PathLike)):
        _save_whole(book, Path(target))
    else:
        book.save(target)


# Words that stand in said columns as they are stored.
STORED: Final = (_("quarantined"), _("store"), _("on-site"), _("in-transit"))


def in_language(text: str) -> str:
    """A word or sentence of the program in the active language; any other text as it is."""
    said = gettext(text) if text else text
    return said if said != text else str(sentences.said(text))


def _fact_said(value: object) -> object:
    return in_language(value) if isinstance(value, str) else value


def _rows_said(columns: Sequence[Column], rows: Iterable[Sequence[object]]) -> Iterator[Sequence[object]]:
    said = [column.said for column in columns]
    for row in rows:
        yield [
            in_language(value) if is_said and isinstance(value, str) else value
            for is_said, value in zip(said, row, strict=True)
        ]


def write_error_workbook(
    faults: Faults, warnings: Faults, facts: Mapping[str, object] | None = None
) -> bytes:
    """A workbook of what is wrong in a register file, to mend it by: a row for each fault, then each warning.

    Columns: what (fault or warning), sheet, row, column, value, why. `facts` may name the file and the day.
    """
    columns = (
        Column(_("what"), width=10, said=True),
        Column(_("sheet"), width=16),
        Column(_("row"), "integer", 8),
        Column(_("column"), width=18),
        Column(_("value"), width=28),
        Column(_("why"), width=90, said=True),
    )
    rows = (
        (what, fault.sheet, fault.row, fault.column, fault.value, fault.why)
        for what, collected in ((_("fault"), faults), (_("warning"), warnings))
        for fault in collected
    )
    summary = [(_("faults"), len(faults)), (_("warnings"), len(warnings))]
    if left_out := faults.left_out + warnings.left_out:
        summary.append((_("of these not listed"), left_out))
    file = io.BytesIO()
    write_table_workbook(file, _("Faults"), columns, rows, facts or {}, summary, for_people=True)
    return file.getvalue()


def _write_summary(
    book: Workbook,
    title: str,
    facts: Mapping[str, object],
    summary: Sequence[tuple[str, int | float | Decimal]],
) -> None:
    sheet = book.create_sheet(gettext("Summary"))
    sheet.column_dimensions["A"].width = 28
    sheet.column_dimensions["B"].width = 60
    _set_up_print(sheet, title)
    heading = WriteOnlyCell(sheet, clean_text(title))
    heading.font = _TITLE
    heading.data_type = "s"
    sheet.append([heading])
    for block in (facts.items(), summary):
        sheet.append([])
        for label, value in block:
            cell = _cell(sheet, value)
            if not isinstance(cell, Cell):
                cell = WriteOnlyCell(sheet, cell)
            cell.alignment = Alignment(horizontal="left", vertical="top", wrap_text=True)
            sheet.append([_bold(sheet, label), cell])


def _write_table(
    book: Workbook, title: str, number: int, columns: Sequence[Column], rows: Iterable[Sequence[object]]
) -> None:
    sheet = book.create_sheet(sheet_title(title, number))
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = width_of(column)
    _set_up_print(sheet, title)
    sheet.print_title_rows = "1:1"
    sheet.append([_bold(sheet, column.heading) for column in columns])
    links = [column.kind == "link" for column in columns]
    wraps = [column.width if column.width >= _WRAPS_FROM else math.inf for column in columns]
    last_row, links_left = 1, _MOST_LINKS
    for row in rows:
        cells: list[Any] = []
        lines = 1
        for is_link, wraps_at, value in zip(links, wraps, row, strict=True):
            if is_link and isinstance(value, tuple):
                cells.append(_link(sheet, *value, with_address=links_left > 0))
                links_left -= 1
                continue
            cell = _cell(sheet, value)
            if isinstance(cell, str) and len(cell) > wraps_at:
                lines = max(lines, math.ceil(len(cell) / (wraps_at * _FILLED)))
                cell = _wrapped(sheet, cell)
            cells.append(cell)
        if lines > 1:
            # Not every program works the height out by itself; lines would lie on each other.
            sheet.row_dimensions[last_row + 1].height = _LINE_POINTS * lines
        sheet.append(cells)
        last_row += 1
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(columns))}{last_row}"


def _set_up_print(sheet: Any, title: str) -> None:
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = Worksheet.PAPERSIZE_A4
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0  # As many pages down as it takes.
    sheet.oddFooter.left.text = clean_text(title).replace("&", "&&")
    sheet.oddFooter.right.text = capfirst(gettext("page %(n)s of %(all)s") % {"n": "&P", "all": "&N"})


def _cell(sheet: Any, value: object) -> Any:
    """What to append for a value: itself where openpyxl writes it right, else a cell of the right type."""
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if value is None or isinstance(value, (int, Decimal)):
        return value if not isinstance(value, Decimal) or value.is_finite() else str(value)
    if isinstance(value, float):
        return value if math.isfinite(value) else str(value)
    if isinstance(value, dt.datetime):
        cell = WriteOnlyCell(sheet, value.replace(tzinfo=None))
        cell.number_format = "yyyy-mm-dd hh:mm"
        return cell
    if isinstance(value, dt.date):
        cell = WriteOnlyCell(sheet, value)
        cell.number_format = "yyyy-mm-dd"
        return cell
    text = clean_text(str(value))
    if text[:1] in FORMULA_STARTS or text in ERROR_CODES:
        return _guarded(sheet, text)
    return _wrapped(sheet, text) if "\n" in text else text


def _wrapped(sheet: Any, text: str) -> Any:
    """Long text goes on below itself instead of over the edge of the paper."""
    cell = WriteOnlyCell(sheet, text)
    cell.alignment = Alignment(wrap_text=True)
    return cell


def _guarded(sheet: Any, text: str) -> Any:
    """A cell of type text, whose format says so as well: what a typed apostrophe does."""
    cell = WriteOnlyCell(sheet, text)
    cell.data_type = "s"
    cell.quotePrefix = True
    return cell


def _bold(sheet: Any, text: str) -> Any:
    cell = (
        _guarded(sheet, clean_text(text))
        if text[:1] in FORMULA_STARTS
        else WriteOnlyCell(sheet, clean_text(text))
    )
    cell.font = _BOLD
    return cell


def _link(sheet: Any, text: str, address: str, *, with_address: bool) -> Any:
    """A link as an address behind text, never as a formula; other addresses than web and mail stay out."""
    shown = _cell(sheet, text)
    cell = shown if isinstance(shown, Cell) else WriteOnlyCell(sheet, shown)
    if with_address and address.startswith(_LINK_SCHEMES):
        cell.hyperlink = address
        cell.font = _LINK
    return cell


def clean_text(text: str) -> str:
    """Text that a workbook can hold: no control characters, one sort of line break, at most 32,767 long."""
    return _NOT_XML.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))[:_MOST_CHARACTERS]


def sheet_title(title: str, number: int) -> str:
    """A title as a tab may have it: 31 characters, some marks not allowed, and not that of the summary."""
    ending = f" ({number})" if number > 1 else ""
    name = _NOT_IN_A_TITLE.sub(" ", clean_text(title)).strip(" '") or "Table"
    if name.casefold() in ("summary", "history"):  # History is a name that one program keeps for itself.
        name += " table"
    return name[: 31 - len(ending)].strip(" '") + ending


def _save_whole(book: Workbook, path: Path) -> None:
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("wb") as file:
            book.save(file)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
