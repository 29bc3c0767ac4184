"""Sheets and columns in any order and spelling are known; what is unknown, double or missing is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook

from kit.workbooks import UNREADABLE, Fault, RegisterFile, open_register
from tests.kit.workbooks.files import ITEMS, ods, ods_cell, ods_row, ods_rows, set_error, xlsx


def places(register: RegisterFile) -> list[tuple[str, int | None, str | None, str | None]]:
    return [(fault.sheet, fault.row, fault.column, fault.value) for fault in register.faults]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("USE_BY", "use_by"),
        ("Use by", "use_by"),
        ("use-by", "use_by"),
        (" Use\u00a0by ", "use_by"),
        ("use\nby", "use_by"),
        ("Bore min (mm)", "bore_min_mm"),
        ("bore_min [mm]", "bore_min_mm"),
        ("\u200bSerial:", "serial"),
    ],
)
def test_spelling_of_headings(tmp_path: Path, heading: str, column: str) -> None:
    path = xlsx(tmp_path / "r.xlsx", {"Items": [[heading, "Depot", "KIND", "Tag"], ["x", "N", "bag", "A1"]]})
    register = open_register(path)
    assert not register.faults
    assert not register.warnings
    (row,) = register.sheets["Items"].rows()
    assert row.values == {column: "x", "depot": "N", "kind": "bag", "tag": "A1"}


def test_spelling_of_sheets(tmp_path: Path) -> None:
    hold = ("tag", "check", "done_on", "start_pressure", "end_pressure", "unit", "minutes", "gauge")
    register = open_register(xlsx(tmp_path / "r.xlsx", {" items": [ITEMS], "HOLD_tests ": [hold]}))
    assert list(register.sheets) == ["Items", "Hold tests"]
    assert not register.faults


def test_sheets_come_in_the_order_of_the_register(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "r.xlsx", {"Kinds": [["kind"]], "Items": [ITEMS]})
    assert list(open_register(path).sheets) == ["Items", "Kinds"]


def test_unknown_columns_are_warned_of_at_their_heading(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "r.xlsx", {"Items": [[*ITEMS, "Serail", "colour"], ["A1", "bag", "N", "S1", "red"]]}
    )
    register = open_register(path)
    assert not register.faults
    assert [warning.as_dict() for warning in register.warnings] == [
        {
            "sheet": "Items",
            "row": 1,
            "column": "Serail",
            "value": None,
            "why": 'Items has no column of this name, so it is not read. Rename it "serial" if that is '
            "meant.",
        },
        {
            "sheet": "Items",
            "row": 1,
            "column": "colour",
            "value": None,
            "why": "Items has no column of this name, so it is not read.",
        },
    ]
    (row,) = register.sheets["Items"].rows()
    assert row.values == {"tag": "A1", "kind": "bag", "depot": "N"}


def test_columns_without_a_heading_are_warned_of_once(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS, ["A1", "bag", "N", "x"], ["A2", "bag", "N", "y"]]})
    register = open_register(path)
    assert len(list(register.sheets["Items"].rows())) == 2
    (warning,) = register.warnings
    assert (warning.row, warning.column, warning.value) == (2, "D", "x")


def test_unknown_sheets_are_warned_of(tmp_path: Path) -> None:
    register = open_register(xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS], "Job": [["x"]], "Pivot": []}))
    assert [(warning.sheet, warning.row, warning.why) for warning in register.warnings] == [
        (
            "Job",
            None,
            "The register has no sheet of this name, so it is not read. Rename it Jobs if that is meant.",
        ),
        ("Pivot", None, "The register has no sheet of this name, so it is not read."),
    ]


def test_a_sheet_that_is_there_twice(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS, ("A1", "bag", "N")], "items ": [ITEMS]})
    register = open_register(path)
    (fault,) = register.faults
    assert (fault.sheet, fault.row, fault.value) == ("Items", None, "items ")
    assert 'as "Items" and as "items "' in fault.why
    assert len(list(register.sheets["Items"].rows())) == 1, "the first is read all the same, for its faults"


def test_a_column_that_stands_twice(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "r.xlsx", {"Items": [["tag", "kind", "depot", "Kind"], ["A1", "bag", "N", "base"]]}
    )
    register = open_register(path)
    assert register.faults.sorted() == [
        Fault("Items", 1, "kind", "Kind", "This column stands twice, in B and D: remove or rename one.")
    ]
    (row,) = register.sheets["Items"].rows()
    assert row.values["kind"] is UNREADABLE


def test_missing_columns_are_faults_and_not_again_in_every_row(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "r.xlsx", {"Items": [[], ["tag", "Kind?s", "note"], ["A1", "bag", "x"]]})
    register = open_register(path)
    assert places(register) == [("Items", 2, "kind", None), ("Items", 2, "depot", None)]
    assert 'Is "Kind?s" meant?' in register.faults.sorted()[0].why
    (row,) = register.sheets["Items"].rows()
    assert row.values == {"tag": "A1", "note": "x", "kind": UNREADABLE, "depot": UNREADABLE}


def test_an_empty_sheet_is_a_fault_and_headings_alone_are_none(tmp_path: Path) -> None:
    register = open_register(xlsx(tmp_path / "r.xlsx", {"Items": [], "Kinds": [["kind"]]}))
    assert places(register) == [("Items", None, None, None)]
    assert "must have the headings tag, kind, depot" in register.faults.sorted()[0].why
    assert list(register.sheets["Items"].rows()) == []
    assert list(register.sheets["Kinds"].rows()) == []


def test_merged_headings(tmp_path: Path) -> None:
    def merge(book: Workbook) -> None:
        book["Items"].merge_cells("D1:E1")

    rows = [[*ITEMS, "bore_min_mm"], ["A1", "bag", "N", 98, 120]]
    register = open_register(xlsx(tmp_path / "r.xlsx", {"Items": rows}, merge))
    assert places(register) == [("Items", 1, "bore_min_mm", "bore_min_mm")]
    assert "The cells D1:E1 are merged into one heading" in register.faults.sorted()[0].why


def test_merged_headings_that_swallow_a_required_one_are_one_fault(tmp_path: Path) -> None:
    def merge(book: Workbook) -> None:
        book["Items"].merge_cells("A1:B1")

    register = open_register(xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS, ("A1", "bag", "N")]}, merge))
    assert places(register) == [("Items", 1, "tag", "tag")]
    assert register.faults.sorted()[0].why.endswith("So kind is missing.")
    (row,) = register.sheets["Items"].rows()
    assert row.values["kind"] is UNREADABLE


def test_merged_headings_in_ods(tmp_path: Path) -> None:
    heads = ods_row(
        ods_cell("tag", columns=2), "<table:covered-table-cell/>", ods_cell("kind"), ods_cell("depot")
    )
    register = open_register(ods(tmp_path / "r.ods", {"Items": heads + ods_rows([("A1", None, "bag", "N")])}))
    assert places(register) == [("Items", 1, "tag", "tag")]
    assert "A1:B1" in register.faults.sorted()[0].why


def test_merged_cells_in_the_rows(tmp_path: Path) -> None:
    """Only the first of merged cells holds the value: other pieces would lose their use-by in silence."""

    def merge(book: Workbook) -> None:
        sheet = book["Items"]
        sheet.merge_cells("D2:D4")
        sheet.merge_cells("A9:C9")  # Blank, so nothing is lost.
        sheet.merge_cells("F2:F4")  # Under no heading.

    rows = [
        [*ITEMS, "use_by"],
        ["A1", "bag", "N", "2027-03", None, "x"],
        ["A2", "bag", "N"],
        ["A3", "bag", "N"],
    ]
    register = open_register(xlsx(tmp_path / "r.xlsx", {"Items": rows}, merge))
    assert places(register) == [("Items", 2, "use_by", "2027-03")]
    assert "D2:D4" in register.faults.sorted()[0].why


def test_a_heading_that_is_an_error(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "r.xlsx", {"Items": [[*ITEMS, "x"]]}, lambda book: set_error(book["Items"], "D1", "#REF!")
    )
    register = open_register(path)
    assert places(register) == [("Items", 1, "D", "#REF!")]
