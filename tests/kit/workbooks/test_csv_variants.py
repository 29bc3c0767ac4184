"""A .csv is one sheet, known by its headings, in any of the encodings and delimiters that are about."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.workbooks import RegisterFileError, open_register

PLAIN = "tag;kind;depot;note\nA1;bag;Nörd;98,5 – größer\n"


def note(path: Path) -> object:
    register = open_register(path)
    assert list(register.sheets) == ["Items"]
    assert not register.faults
    (row,) = register.sheets["Items"].rows()
    assert row.number == 2
    assert (row.values["tag"], row.values["depot"]) == ("A1", "Nörd")
    return row.values["note"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "items.csv"
    path.write_text(PLAIN, encoding=encoding)
    assert note(path) == "98,5 – größer"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_delimiters(tmp_path: Path, delimiter: str) -> None:
    path = tmp_path / "items.csv"
    rows = [["tag", "kind", "depot", "note"], ["A1", "bag", "Nörd", '"98,5; a\tb"']]
    path.write_text("\r\n".join(delimiter.join(row) for row in rows), encoding="utf-8")
    assert note(path) == "98,5; a\tb"


def test_a_first_line_that_names_the_delimiter(tmp_path: Path) -> None:
    path = tmp_path / "items.csv"
    path.write_text("sep=;\n" + PLAIN, encoding="utf-8")
    assert note(path) == "98,5 – größer"


@pytest.mark.parametrize(
    ("headings", "sheet"),
    [
        ("tag,kind,depot,serial", "Items"),
        ("Tag,Check,Done on,Verdict", "Inspections"),
        ("kind,check,interval", "Checks"),
        ("reference,depot,load_on,return_on,arrangement", "Jobs"),
        ("arrangement,line,kind,quantity", "Arrangements"),
        ("kind,counted,bore", "Kinds"),
        ("kind", "Kinds"),
        ("tag,check,done_on,start_pressure,end_pressure,unit,minutes,gauge", "Hold tests"),
        ("gauge,check,done_on,direction,reference,as_found,unit", "Calibrations"),
    ],
)
def test_the_headings_tell_the_sheet(tmp_path: Path, headings: str, sheet: str) -> None:
    path = tmp_path / "any.csv"
    path.write_text(headings + "\n")
    register = open_register(path)
    assert list(register.sheets) == [sheet]
    assert not register.faults


def test_a_missing_heading_is_a_fault_and_no_other_sheet(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text("ID,kind,depot,serial,use_by\n1,bag,N,S,2027-03\n")
    register = open_register(path)
    assert [(fault.sheet, fault.row, fault.column) for fault in register.faults] == [("Items", 1, "tag")]


def refusal(path: Path) -> str:
    with pytest.raises(RegisterFileError) as caught:
        open_register(path)
    return str(caught.value)


def test_headings_of_no_sheet(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text("shade,colour\nx,red\n")
    assert "begins with no headings of the register (found: shade, colour)" in refusal(path)


def test_headings_of_two_sheets(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text("kind,quantity\n")
    assert refusal(path).startswith("any.csv may be Items or Arrangements by its headings (kind, quantity)")


def test_blank_rows_alone(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text("\n,,\n \n")
    assert "has no rows" in refusal(path)


@pytest.mark.parametrize("content", [b"\x00\x01\x02\x03 binary", b"tag,kind,depot\n\x81\x8d\x8f,\xff\xfe,N"])
def test_what_is_no_text(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "any.csv"
    path.write_bytes(content)
    assert "is not text that can be read" in refusal(path)


def test_a_quote_that_does_not_close(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text('tag,kind,depot\nA1,bag,N\nA2,"bag,N\nA3,bag,N\n')
    assert "any.csv cannot be read from row 3 on" in refusal(path)


def test_inch_marks_are_no_quotes(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text('tag,kind,depot,note\nA1,bag,N,6" main\n')
    (row,) = open_register(path).sheets["Items"].rows()
    assert row.values["note"] == '6" main'


def test_too_wide(tmp_path: Path) -> None:
    path = tmp_path / "any.csv"
    path.write_text("tag,kind,depot\n" + "x," * 300 + "\n")
    assert "Items has 301 columns" in refusal(path)
