"""Small register files made on the fly for the tests: .xlsx through openpyxl, .ods by hand."""

from __future__ import annotations

import datetime as dt
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

Sheets = Mapping[str, Iterable[Sequence[object]]]

ITEMS = ("tag", "kind", "depot")

_ODS_TYPE = "application/vnd.oasis.opendocument.spreadsheet"
_ODS_CONTENT = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document-content'
    ' xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"'
    ' xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"'
    ' xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"'
    ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    ' office:version="1.2"><office:body><office:spreadsheet>{}</office:spreadsheet></office:body>'
    "</office:document-content>"
)
_ODS_MANIFEST = (
    '<?xml version="1.0" encoding="UTF-8"?><manifest:manifest'
    ' xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2">'
    f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{_ODS_TYPE}"/>'
    '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml">{}'
    "</manifest:file-entry></manifest:manifest>"
)


def xlsx(path: Path, sheets: Sheets, change: Callable[[Workbook], None] | None = None) -> Path:
    """An .xlsx workbook with these rows; `change` may alter it before it is saved."""
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for number, row in enumerate(rows, start=1):
            for place, value in enumerate(row, start=1):
                sheet.cell(number, place, value)
    if change:
        change(book)
    book.save(path)
    return path


def set_error(sheet: Worksheet, cell: str, error: str) -> None:
    """Make a cell hold an error, as a spreadsheet program saves it."""
    sheet[cell].value = error
    sheet[cell].data_type = "e"


def ods(path: Path, tables: Mapping[str, str], *, manifest: str = "") -> Path:
    """An .ods workbook; each table is given as the XML of its rows, made with `ods_row` and `ods_cell`."""
    body = "".join(
        f"<table:table table:name={quoteattr(name)}>{rows}</table:table>" for name, rows in tables.items()
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", _ODS_TYPE, zipfile.ZIP_STORED)
        archive.writestr("META-INF/manifest.xml", _ODS_MANIFEST.format(manifest))
        archive.writestr("content.xml", _ODS_CONTENT.format(body))
    return path


def ods_row(*cells: str, times: int = 1) -> str:
    """A row of an .ods table, `times` over."""
    return f'<table:table-row table:number-rows-repeated="{times}">{"".join(cells)}</table:table-row>'


def ods_cell(value: object = None, *, times: int = 1, columns: int = 1, rows: int = 1) -> str:
    """A cell of an .ods table, `times` over, merged over `columns` and `rows`."""
    attributes = f' table:number-columns-repeated="{times}"'
    if columns > 1 or rows > 1:
        attributes += f' table:number-columns-spanned="{columns}" table:number-rows-spanned="{rows}"'
    if value is None:
        return f"<table:table-cell{attributes}/>"
    if isinstance(value, dt.date):
        kind = f'"date" office:date-value="{value.isoformat()}"'
    elif isinstance(value, (int, float)):
        kind = f'"float" office:value="{value}"'
    else:
        kind = '"string"'
    return (
        f"<table:table-cell office:value-type={kind}{attributes}><text:p>{escape(str(value))}</text:p>"
        "</table:table-cell>"
    )


def ods_error(shown: str) -> str:
    """A formula in .ods that ends in an error, as LibreOffice saves it."""
    return (
        '<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value=""'
        f' calcext:value-type="error"><text:p>{shown}</text:p></table:table-cell>'
    )


def ods_rows(rows: Iterable[Sequence[object]]) -> str:
    """Plain rows of an .ods table."""
    return "".join(ods_row(*(ods_cell(value) for value in row)) for row in rows)


def with_sheet_xml(path: Path, xml: str) -> Path:
    """An .xlsx workbook whose one sheet, Items, consists of this XML."""
    plain = xlsx(path.with_name("plain.xlsx"), {"Items": [ITEMS]})
    with zipfile.ZipFile(plain) as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for entry in source.infolist():
            is_sheet = entry.filename == "xl/worksheets/sheet1.xml"
            target.writestr(entry.filename, xml.encode() if is_sheet else source.read(entry))
    return path


def sheet_xml(*rows: str) -> str:
    """The XML of a worksheet with these rows."""
    namespace = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return f'<worksheet xmlns="{namespace}"><sheetData>{"".join(rows)}</sheetData></worksheet>'


def text_cell(reference: str, text: str) -> str:
    """The XML of a worksheet's cell with text."""
    return f'<c r="{reference}" t="inlineStr"><is><t>{escape(text)}</t></is></c>'
