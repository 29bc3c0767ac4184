"""Tables written as .ods and .csv: read back by python-calamine, by xml.etree and by the csv module."""

from __future__ import annotations

import csv
import datetime as dt
import io
import tracemalloc
import xml.etree.ElementTree as ET
import zipfile
from decimal import Decimal

import pytest
from python_calamine import CalamineWorkbook

from kit.workbooks import table_ods
from kit.workbooks.table_csv import write_table_csv
from kit.workbooks.table_ods import MIMETYPE, write_table_ods
from kit.workbooks.writing import FORMULA_STARTS, Column

COLUMNS = [Column("Tag"), Column("Geprüft am", "date"), Column("Over", "integer"), Column("Bore", "decimal")]
DAY = dt.date(2026, 2, 28)
MOMENT = dt.datetime(2026, 2, 28, 7, 5, tzinfo=dt.UTC)
ROWS = [
    ["B-1", DAY, -3, Decimal("150.5")],
    ["-12", None, 0, None],
    ['=HYPERLINK("x")', "never", 7, Decimal("1E+2")],
    ['two  spaces, "quoted",\tand\nanother line & <b>', MOMENT, 1, Decimal("0.001")],
    ["", DAY, None, Decimal("-2")],
]
TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"


def ods(rows=ROWS, **more) -> bytes:
    file = io.BytesIO()
    write_table_ods(file, "Due list", COLUMNS, rows, {"as of": DAY, "who": "sal"}, **more)
    return file.getvalue()


def csv_rows(rows=ROWS) -> list[list[str]]:
    file = io.BytesIO()
    write_table_csv(file, COLUMNS, rows)
    return list(csv.reader(io.StringIO(file.getvalue().decode("utf-8-sig"), newline=""), strict=True))


def test_another_program_reads_the_ods_as_it_was_meant():
    book = CalamineWorkbook.from_filelike(io.BytesIO(ods()))
    assert book.sheet_names == ["Summary", "Due list"]
    read = book.get_sheet_by_name("Due list").to_python()
    assert read[0] == ["Tag", "Geprüft am", "Over", "Bore"]
    assert read[1] == ["B-1", DAY, -3, 150.5]
    assert read[2][0] == "-12"
    assert read[3] == ['=HYPERLINK("x")', "never", 7, 100]
    assert read[4][1] == MOMENT.replace(tzinfo=None)
    assert read[5][1:] == [DAY, "", -2]
    assert book.get_sheet_by_name("Summary").to_python()[1] == ["as of", DAY]


def test_spaces_tabs_and_lines_of_a_cell_are_kept_as_the_standard_has_them():
    """OpenDocument 1.3 part 3, 6.1.2 and 6.1.3: further spaces are text:s, a tab is text:tab; a line a paragraph."""
    text = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
    root = ET.fromstring(zipfile.ZipFile(io.BytesIO(ods())).read("content.xml"))
    [cell] = [c for c in root.iter(f"{TABLE}table-cell") if len(c) == 2]
    said = []
    for line in cell:
        words = line.text or ""
        for part in line:
            words += "\t" if part.tag == f"{text}tab" else " " * int(part.get(f"{text}c", "1"))
            words += part.tail or ""
        said.append(words)
    assert "\n".join(said) == ROWS[3][0]


def test_the_parts_of_the_ods_are_those_of_the_standard():
    """OpenDocument 1.3 part 2, 3.3: mimetype is the first file, not packed; every part is in the manifest."""
    archive = zipfile.ZipFile(io.BytesIO(ods()))
    first = archive.infolist()[0]
    assert (first.filename, first.compress_type) == ("mimetype", zipfile.ZIP_STORED)
    assert archive.read("mimetype").decode() == MIMETYPE
    manifest = ET.fromstring(archive.read("META-INF/manifest.xml"))
    name = "{urn:oasis:names:tc:opendocument:xmlns:manifest:1.0}full-path"
    named = {entry.get(name) for entry in manifest} - {"/"}
    assert named == set(archive.namelist()) - {"mimetype", "META-INF/manifest.xml"}


def test_no_cell_of_the_ods_is_a_formula():
    rows = [[f"{first}1+1", None, None, None] for first in sorted(FORMULA_STARTS)]
    root = ET.fromstring(zipfile.ZipFile(io.BytesIO(ods(rows))).read("content.xml"))
    cells = list(root.iter(f"{TABLE}table-cell"))
    assert not [cell for cell in cells if f"{TABLE}formula" in cell.attrib]
    typed = [cell.get(f"{OFFICE}value-type") for cell in cells if "1+1" in "".join(cell.itertext())]
    assert typed == ["string"] * len(FORMULA_STARTS)


def test_a_long_ods_goes_on_in_a_further_sheet(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(table_ods, "ROWS_A_SHEET", 2)
    book = CalamineWorkbook.from_filelike(io.BytesIO(ods([[str(n), None, n, None] for n in range(5)])))
    assert book.sheet_names == ["Summary", "Due list", "Due list (2)", "Due list (3)"]
    tags = [row[0] for name in book.sheet_names[1:] for row in book.get_sheet_by_name(name).to_python()[1:]]
    assert tags == ["0", "1", "2", "3", "4"]


def test_the_csv_is_read_back_by_the_csv_module():
    read = csv_rows()
    assert read[0] == ["Tag", "Geprüft am", "Over", "Bore"]
    assert read[1] == ["B-1", "2026-02-28", "-3", "150.5"]
    assert read[3][1:] == ["never", "7", "100"]
    assert read[4] == [ROWS[3][0], "2026-02-28 07:05", "1", "0.001"]
    assert read[5] == ["", "2026-02-28", "", "-2"]


def test_the_csv_is_as_rfc_4180_has_it_and_begins_with_the_mark_of_utf_8():
    file = io.BytesIO()
    write_table_csv(file, COLUMNS, [["a,b", None, 1, None]])
    assert file.getvalue() == b'\xef\xbb\xbfTag,Gepr\xc3\xbcft am,Over,Bore\r\n"a,b",,1,\r\n'


@pytest.mark.parametrize("first", sorted(FORMULA_STARTS))
def test_text_that_might_be_a_formula_bears_an_apostrophe_in_the_csv(first: str):
    """OWASP, CSV Injection: = + - @, tab and carriage return. Numbers are not text."""
    [_head, row] = csv_rows([[f"{first}cmd", None, -1, Decimal("-2.5")]])
    assert row[0] == f"'{first}cmd"
    assert row[2:] == ["-1", "-2.5"]


@pytest.mark.parametrize("write", ["ods", "csv"])
def test_rows_are_written_as_they_come_and_not_kept(write: str, tmp_path):
    def peak(number: int) -> int:
        rows = ([f"T-{n}", DAY, n, Decimal(n)] for n in range(number))
        tracemalloc.start()
        with (tmp_path / "out").open("wb") as file:
            if write == "csv":
                write_table_csv(file, COLUMNS, rows)
            else:
                write_table_ods(file, "Due list", COLUMNS, rows, {})
        most = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return most

    peak(10)
    assert peak(9_000) < 2 * peak(3_000)
