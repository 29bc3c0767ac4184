"""A row carries the number that a spreadsheet program shows beside it, and the cells of the right columns."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from kit.workbooks import open_register
from tests.kit.workbooks.files import (
    ITEMS,
    ods,
    ods_cell,
    ods_row,
    ods_rows,
    sheet_xml,
    text_cell,
    with_sheet_xml,
    xlsx,
)


def tags(path: Path, sheet: str = "Items") -> dict[int, object]:
    return {row.number: row.values["tag"] for row in open_register(path).sheets[sheet].rows()}


def test_blank_rows_and_columns_before_the_table(tmp_path: Path) -> None:
    rows = [
        [],
        [],
        [],
        [None, None, *ITEMS],
        [],
        [None, None, "A1", "bag", "N"],
        [None, None, "A2", "bag", "N"],
    ]
    path = xlsx(tmp_path / "register.xlsx", {"Items": rows})
    sheet = open_register(path).sheets["Items"]
    assert sheet.heading_row == 4
    assert sheet.columns == {"tag": 3, "kind": 4, "depot": 5}
    assert [(row.number, row.values) for row in sheet.rows()] == [
        (6, {"tag": "A1", "kind": "bag", "depot": "N"}),
        (7, {"tag": "A2", "kind": "bag", "depot": "N"}),
    ]
    assert sheet.row_count == 3


def test_blank_rows_and_columns_before_the_table_in_ods(tmp_path: Path) -> None:
    left = ods_cell(times=2)
    path = ods(
        tmp_path / "register.ods",
        {
            "Items": ods_row(ods_cell(times=16_384), times=3)
            + ods_row(left, *map(ods_cell, ITEMS))
            + ods_row(left, *map(ods_cell, ("A1", "bag", "N")), times=2)
            + ods_row(ods_cell(times=16_384))
            + ods_row(left, *map(ods_cell, ("A2", "bag", "N")))
            + ods_row(ods_cell(times=16_384), times=1_048_000)
        },
    )
    assert tags(path) == {5: "A1", 6: "A1", 8: "A2"}


def test_rows_that_do_not_say_their_number(tmp_path: Path) -> None:
    """The format leaves r optional on rows and cells; some writers leave it out."""
    heads = "".join(text_cell("A1", name).replace(' r="A1"', "") for name in ITEMS)
    cells = "".join(text_cell("A1", value).replace(' r="A1"', "") for value in ("A1", "bag", "N"))
    path = with_sheet_xml(
        tmp_path / "register.xlsx",
        sheet_xml(f"<row>{heads}</row>", f'<row r="5">{cells}</row>', f"<row>{cells}</row>"),
    )
    assert tags(path) == {5: "A1", 6: "A1"}


def test_rows_of_blanks_are_left_out(tmp_path: Path) -> None:
    rows = [ITEMS, ("A1", "bag", "N"), (" ", "\u00a0", "\u200b"), (None, "", None), ("A2", None, None)]
    assert tags(xlsx(tmp_path / "register.xlsx", {"Items": rows})) == {2: "A1", 5: "A2"}


def test_csv_rows_are_counted_as_a_spreadsheet_shows_them(tmp_path: Path) -> None:
    path = tmp_path / "items.csv"
    path.write_text('\ntag,kind,depot,note\nA1,bag,N,"two\nlines"\n\nA2,bag,N,\n')
    assert tags(path) == {3: "A1", 5: "A2"}


def test_rows_may_be_read_again(tmp_path: Path) -> None:
    sheet = open_register(xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS, ("A1", "bag", "N")]})).sheets["Items"]
    assert list(sheet.rows()) == list(sheet.rows()) != []


def test_values_keep_their_type(tmp_path: Path) -> None:
    day = dt.date(2027, 3, 31)
    values = {"tag": "A1", "kind": "bag", "depot": "N", "use_by": day, "bore_min_mm": 98.5, "quantity": 3}
    book = xlsx(tmp_path / "register.xlsx", {"Items": [list(values), list(values.values())]})
    text = ods(tmp_path / "register.ods", {"Items": ods_rows([list(values), list(values.values())])})
    for path in (book, text):
        (row,) = open_register(path).sheets["Items"].rows()
        assert row.values == values
        assert type(row.values["use_by"]) is dt.date


def test_dates_counted_from_1904(tmp_path: Path) -> None:
    def count_from_1904(book: Workbook) -> None:
        book.epoch = CALENDAR_MAC_1904

    rows = [[*ITEMS, "use_by"], ["A1", "bag", "N", dt.date(2027, 3, 31)]]
    path = xlsx(tmp_path / "register.xlsx", {"Items": rows}, count_from_1904)
    (row,) = open_register(path).sheets["Items"].rows()
    assert row.values["use_by"] == dt.date(2027, 3, 31)


def test_notes_in_ods_are_no_part_of_a_cell(tmp_path: Path) -> None:
    noted = ods_cell("A1").replace(
        "<text:p>", "<office:annotation><text:p>Who wrote this?</text:p></office:annotation><text:p>", 1
    )
    rows = ods_rows([ITEMS]) + ods_row(noted, ods_cell("bag"), ods_cell("N"))
    assert tags(ods(tmp_path / "register.ods", {"Items": rows})) == {2: "A1"}
