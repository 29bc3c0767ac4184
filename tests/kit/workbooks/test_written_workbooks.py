"""Written workbooks: real dates and numbers, no formulas, the query on the first sheet, ready to print."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
import python_calamine
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet

from kit.workbooks import (
    Column,
    Fault,
    Faults,
    open_register,
    write_error_workbook,
    write_table_workbook,
    writing,
)

COLUMNS = (
    Column("tag"),
    Column("due", "date"),
    Column("days over", "integer", 8),
    Column("bore mm", "decimal"),
    Column("page", "link"),
)
FACTS = {"query": "depot = NORD", "as of": dt.date(2026, 11, 2), "who": "A. Keeper", "ledger entries": 1204}


def written(rows: list[tuple[object, ...]], title: str = "Due list") -> bytes:
    file = io.BytesIO()
    write_table_workbook(file, title, COLUMNS, rows, FACTS, [("overdue", 2), ("never done", 1)])
    return file.getvalue()


def table(content: bytes) -> Worksheet:
    return openpyxl.load_workbook(io.BytesIO(content)).worksheets[1]


def test_the_first_sheet_says_what_was_asked_and_counts() -> None:
    book = openpyxl.load_workbook(io.BytesIO(written([])))
    assert book.sheetnames == ["Summary", "Due list"]
    assert [[cell.value for cell in row if cell.value is not None] for row in book["Summary"].rows] == [
        ["Due list"],
        [],
        ["query", "depot = NORD"],
        ["as of", dt.datetime(2026, 11, 2)],
        ["who", "A. Keeper"],
        ["ledger entries", 1204],
        [],
        ["overdue", 2],
        ["never done", 1],
    ]
    assert book["Summary"]["B4"].number_format == "yyyy-mm-dd"
    assert book["Summary"]["A1"].font.bold


def test_dates_and_numbers_stay_what_they_are() -> None:
    rows = [
        ("B-1", dt.date(2026, 10, 1), 32, Decimal("98.500"), None),
        ("B-2", None, -3, 101.25, None),
        ("B-3", "never", 0, None, None),
        (4711, dt.datetime(2026, 10, 1, 9, 30, tzinfo=dt.UTC), True, float("nan"), None),
    ]
    sheet = table(written(rows))
    assert [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)] == [
        ["B-1", dt.datetime(2026, 10, 1), 32, 98.5, None],
        ["B-2", None, -3, 101.25, None],
        ["B-3", "never", 0, None, None],
        [4711, dt.datetime(2026, 10, 1, 9, 30), "yes", "nan", None],
    ]
    assert [sheet["B2"].data_type, sheet["C2"].data_type, sheet["D2"].data_type] == ["d", "n", "n"]
    assert sheet["B2"].number_format == "yyyy-mm-dd"
    assert sheet["B5"].number_format == "yyyy-mm-dd hh:mm"


def test_another_reader_sees_the_same(tmp_path: Path) -> None:
    path = tmp_path / "due.xlsx"
    path.write_bytes(written([("=B-1", dt.date(9999, 12, 31), 32, Decimal("98.5"), None)]))
    rows = python_calamine.load_workbook(path).get_sheet_by_name("Due list").to_python()
    assert rows == [
        ["tag", "due", "days over", "bore mm", "page"],
        ["=B-1", dt.date(9999, 12, 31), 32, 98.5, ""],
    ]


def test_ready_to_read_and_to_print() -> None:
    content = written([("B-1", None, 1, None, None)] * 3)
    sheet = table(content)
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:E4"
    assert all(cell.font.bold for cell in sheet[1])
    widths = [sheet.column_dimensions[letter].width for letter in "ABCDE"]
    assert widths == [22, 12, 8, 12, 22]
    setup = sheet.page_setup
    assert (setup.orientation, int(setup.paperSize), setup.fitToWidth, setup.fitToHeight) == (
        "landscape",
        9,
        1,
        0,
    )
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.oddFooter.right.text == "Page &P of &N"


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "=cmd|' /C calc'!A0",
        "+44 1234",
        "-12",
        "@SUM(A1)",
        "\t=1+1",
        "\n=1+1",
        "\uff1d1+1",
        "\uff0b1",
        "\uff0d1",
        "\uff20x",
        "#N/A",
        "#REF!",
        "=",
    ],
)
def test_text_is_never_a_formula(text: str) -> None:
    """Leading characters after OWASP, CSV Injection (from memory), and their full-width forms."""
    sheet = table(written([(text, text, text, text, (text, "https://depot.example/1"))], title=text))
    for cell in sheet[2]:
        assert (cell.value, cell.data_type, cell.quotePrefix) == (text, "s", True)


def test_no_formula_anywhere_in_the_file() -> None:
    content = written([("=1+1", "=1", "=1", "=1", ("=1", "https://x.example/"))], title="=1+1")
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        for name in archive.namelist():
            assert b"<f>" not in archive.read(name), name


def test_headings_and_facts_are_guarded_as_well() -> None:
    file = io.BytesIO()
    write_table_workbook(file, "Due", [Column("=a")], [], {"=fact": "=value"}, [("+count", 1)])
    book = openpyxl.load_workbook(file)
    cells = [book["Summary"]["A3"], book["Summary"]["B3"], book["Summary"]["A5"], book["Due"]["A1"]]
    assert [(cell.value, cell.data_type) for cell in cells] == [
        ("=fact", "s"),
        ("=value", "s"),
        ("+count", "s"),
        ("=a", "s"),
    ]


def test_control_characters_go_and_line_breaks_stay() -> None:
    sheet = table(written([("a\x00b\x07c\ufffe\ud800", "one\r\ntwo\rthree", None, None, None)]))
    assert sheet["A2"].value == "abc"
    assert sheet["B2"].value == "one\ntwo\nthree"
    assert sheet["B2"].alignment.wrap_text


def test_links_are_addresses_behind_text() -> None:
    rows = [
        ("B-1", None, None, None, ("B-1", "https://depot.example/items/1?a=1&b=2")),
        ("B-2", None, None, None, ("B-2", "javascript:alert(1)")),
        ("B-3", None, None, None, "no link"),
    ]
    sheet = table(written(rows))
    assert sheet["E2"].value == "B-1"
    assert sheet["E2"].hyperlink.target == "https://depot.example/items/1?a=1&b=2"
    assert sheet["E3"].value == "B-2"
    assert sheet["E3"].hyperlink is None
    assert sheet["E4"].value == "no link"


def test_more_links_than_a_sheet_may_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing, "_MOST_LINKS", 2)
    link = ("x", "https://depot.example/1")
    sheet = table(written([("B", None, None, None, link)] * 3))
    assert [bool(sheet[f"E{row}"].hyperlink) for row in (2, 3, 4)] == [True, True, False]


def test_a_long_table_goes_on_in_a_further_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing, "ROWS_A_SHEET", 2)
    for rows, titles in ((2, ["Due list"]), (5, ["Due list", "Due list (2)", "Due list (3)"])):
        content = written([(f"B-{number}", None, None, None, None) for number in range(rows)])
        book = openpyxl.load_workbook(io.BytesIO(content))
        assert book.sheetnames == ["Summary", *titles]
        tags = [row[0].value for sheet in book.worksheets[1:] for row in sheet.iter_rows(min_row=2)]
        assert tags == [f"B-{number}" for number in range(rows)]


@pytest.mark.parametrize(
    ("title", "tab"),
    [
        ("Due: NORD/SUED [all]", "Due  NORD SUED  all"),
        ("Summary", "Summary table"),
        ("'", "Table"),
        ("x" * 40, "x" * 31),
    ],
)
def test_tabs_take_not_every_title(title: str, tab: str) -> None:
    assert table(written([], title=title)).title == tab


def test_an_ampersand_in_the_title_is_printed() -> None:
    assert "&amp;LBags &amp;&amp; bases" in sheet_xml_of(written([], title="Bags & bases"))


def sheet_xml_of(content: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return archive.read("xl/worksheets/sheet2.xml").decode()


def test_a_failure_leaves_the_older_file(tmp_path: Path) -> None:
    path = tmp_path / "due.xlsx"
    path.write_bytes(b"older")

    def rows() -> Iterator[tuple[str]]:
        yield ("B-1",)
        raise RuntimeError("the database went away")

    with pytest.raises(RuntimeError, match="went away"):
        write_table_workbook(path, "Due", [Column("tag")], rows(), {})
    assert path.read_bytes() == b"older"
    assert list(tmp_path.iterdir()) == [path]
    write_table_workbook(path, "Due", [Column("tag")], [("B-1",)], {})
    assert openpyxl.load_workbook(path)["Due"]["A2"].value == "B-1"
    assert list(tmp_path.iterdir()) == [path]


def test_error_workbook() -> None:
    faults = Faults(
        [
            Fault("Items", 17, "use_by", "=31/02/2027", "There is no day 31 in February 2027."),
            Fault("Items", 3, "tag", None, "Every row of Items needs tag, and this cell is empty."),
        ]
    )
    warnings = Faults([Fault("Pivot", None, None, None, "Not read.")])
    book = openpyxl.load_workbook(io.BytesIO(write_error_workbook(faults, warnings, {"file": "north.xlsx"})))
    assert [[cell.value for cell in row] for row in book["Faults"].rows] == [
        ["what", "sheet", "row", "column", "value", "why"],
        ["fault", "Items", 3, "tag", None, "Every row of Items needs tag, and this cell is empty."],
        ["fault", "Items", 17, "use_by", "=31/02/2027", "There is no day 31 in February 2027."],
        ["warning", "Pivot", None, None, None, "Not read."],
    ]
    assert book["Faults"]["E3"].data_type == "s"
    assert [row[1].value for row in book["Summary"].iter_rows(min_row=3)] == ["north.xlsx", None, 2, 1]


@given(st.lists(st.text(st.characters(codec="utf-8"), max_size=20), min_size=1, max_size=20))
def test_any_text_comes_back_as_text(texts: list[str]) -> None:
    file = io.BytesIO()
    write_table_workbook(
        file, "Any", [Column("tag"), Column("n", "integer")], [(text, 1) for text in texts], {}
    )
    sheet = openpyxl.load_workbook(file)["Any"]
    for row, text in enumerate(texts, start=2):
        cell = sheet.cell(row, 1)
        kept = writing._NOT_XML.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
        assert cell.data_type != "f"
        assert (cell.value or "") == kept


def test_a_written_register_can_be_read_back(tmp_path: Path) -> None:
    path = tmp_path / "items.xlsx"
    columns = [Column("tag"), Column("kind"), Column("depot"), Column("use_by", "date")]
    write_table_workbook(path, "Items", columns, [("-12", "bag", "=N", dt.date(2027, 3, 31))], {})
    (row,) = open_register(path).sheets["Items"].rows()
    assert row.values == {"tag": "-12", "kind": "bag", "depot": "=N", "use_by": dt.date(2027, 3, 31)}
