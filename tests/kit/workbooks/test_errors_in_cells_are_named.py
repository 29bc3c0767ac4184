"""Every cell with an error is a fault at that cell; its value is marked so that nobody reports it twice."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from openpyxl import Workbook

from kit.workbooks import UNREADABLE, Faults, RegisterFile, RegisterFileError, RowReader, open_register
from tests.kit.workbooks.files import ITEMS, ods, ods_cell, ods_error, ods_row, ods_rows, set_error, xlsx

ERRORS = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!")


def cells(register: RegisterFile) -> list[tuple[int | None, str | None, str | None]]:
    return [(fault.row, fault.column, fault.value) for fault in register.faults]


def test_errors_in_xlsx(tmp_path: Path) -> None:
    def spoil(book: Workbook) -> None:
        for row, error in enumerate(ERRORS, start=2):
            set_error(book["Items"], f"B{row}", error)

    path = xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS, *[("A", "bag", "N")] * 7]}, spoil)
    register = open_register(path)
    assert cells(register) == [(row, "kind", error) for row, error in enumerate(ERRORS, start=2)]
    for row in register.sheets["Items"].rows():
        assert row.values == {"tag": "A", "kind": UNREADABLE, "depot": "N"}
    assert len(register.faults) == 7
    assert "a division by zero" in register.faults.sorted()[0].why


def test_errors_in_ods(tmp_path: Path) -> None:
    rows = ods_rows([ITEMS]) + "".join(
        ods_row(ods_cell("A"), ods_error(error), ods_cell("N")) for error in ("#DIV/0!", "Err:502")
    )
    register = open_register(ods(tmp_path / "r.ods", {"Items": rows}))
    assert cells(register) == [(2, "kind", "#DIV/0!"), (3, "kind", "Err:502")]
    assert [row.values["kind"] for row in register.sheets["Items"].rows()] == [UNREADABLE, UNREADABLE]


def test_errors_in_ods_of_other_writers(tmp_path: Path) -> None:
    """Writers other than LibreOffice do not say value type error: the text behind the formula tells."""
    cell = ods_error("#REF!").replace(' calcext:value-type="error"', "")
    register = open_register(
        ods(tmp_path / "r.ods", {"Items": ods_rows([ITEMS]) + ods_row(ods_cell("A"), cell, ods_cell("N"))})
    )
    assert cells(register) == [(2, "kind", "#REF!")]


def test_repeated_errors_in_ods_are_each_named(tmp_path: Path) -> None:
    rows = ods_rows([ITEMS]) + ods_row(ods_cell("A"), ods_error("#N/A"), ods_cell("N"), times=3)
    register = open_register(ods(tmp_path / "r.ods", {"Items": rows}))
    assert cells(register) == [(2, "kind", "#N/A"), (3, "kind", "#N/A"), (4, "kind", "#N/A")]


def test_errors_pasted_as_text(tmp_path: Path) -> None:
    csv = tmp_path / "items.csv"
    csv.write_text("tag,kind,depot\nA1,#N/A,N\nA2,bag,Err:502\nA3,#1,N\n")
    register = open_register(csv)
    rows = list(register.sheets["Items"].rows())
    assert cells(register) == [(2, "kind", "#N/A"), (3, "depot", "Err:502")]
    assert [row.values["kind"] for row in rows] == [UNREADABLE, "bag", "#1"]


def test_formulas_that_were_never_worked_out(tmp_path: Path) -> None:
    """Programs that write workbooks without working them out leave formulas without a result."""
    path = xlsx(tmp_path / "r.xlsx", {"Items": [ITEMS, ("A1", '="ba"&"g"', "N")]})
    register = open_register(path)
    assert cells(register) == [(2, "kind", None)]
    assert "has no result yet" in register.faults.sorted()[0].why


def test_results_of_formulas_are_values(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "plain.xlsx", {"Items": [[*ITEMS, "note"], ["A1", "=kind", "N", "=note"]]})
    worked_out = tmp_path / "r.xlsx"
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(worked_out, "w") as target:
        for entry in source.infolist():
            content = source.read(entry)
            if entry.filename == "xl/worksheets/sheet1.xml":
                content = content.replace(b"<f>kind</f><v></v>", b"<f>kind</f><v>7</v>")
                content = content.replace(b"<f>kind</f><v/>", b"<f>kind</f><v>7</v>")
                content = content.replace(
                    b'<c r="D2"><f>note</f><v/>', b'<c r="D2" t="str"><f>note</f><v></v>'
                )
                content = content.replace(
                    b'<c r="D2"><f>note</f><v></v>', b'<c r="D2" t="str"><f>note</f><v></v>'
                )
            target.writestr(entry.filename, content)
    register = open_register(worked_out)
    assert not register.faults
    assert [row.values for row in register.sheets["Items"].rows()] == [
        {"tag": "A1", "kind": 7, "depot": "N", "note": None}
    ]


def test_errors_in_columns_that_are_not_read_do_not_count(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "r.xlsx",
        {"Items": [[*ITEMS, "colour"], ["A1", "bag", "N", "x"]]},
        lambda book: set_error(book["Items"], "D2", "#REF!"),
    )
    assert not open_register(path).faults


def test_errors_of_an_unknown_sort_are_named_in_the_refusal(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "r.xlsx",
        {"Items": [ITEMS, ("A1", "bag", "N")]},
        lambda book: set_error(book["Items"], "B2", "#GETTING_DATA"),
    )
    with pytest.raises(RegisterFileError, match=r"Sheet Items holds errors .* in B2 \(#GETTING_DATA\)"):
        open_register(path)


def test_a_reader_adds_nothing_to_an_error_already_named(tmp_path: Path) -> None:
    path = xlsx(
        tmp_path / "r.xlsx",
        {"Items": [["tag", "kind", "quantity"], ["A1", "bag", 1]]},
        lambda book: set_error(book["Items"], "C2", "#REF!"),
    )
    register = open_register(path)
    (row,) = register.sheets["Items"].rows()
    later = Faults()
    reader = RowReader(register.sheets["Items"].spec, row, later)
    assert reader.text("depot", required=True) == ""
    assert reader.whole_number("quantity", required=True) is None
    assert reader.faulty == {"depot", "quantity"}
    assert not later
    assert cells(register) == [(1, "depot", None), (2, "quantity", "#REF!")]
