"""Each typed reader gives the value that a person meant, or adds one fault that says what to write."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.workbooks import Faults, Row, RowReader
from kit.workbooks.cell_text import CellValue, is_blank
from kit.workbooks.sheets import SHEET_BY_NAME

TODAY = dt.date(2026, 11, 2)


class Cell:
    """One cell under a column of a sheet, with what reading it reports."""

    def __init__(self, value: CellValue | None, column: str = "note", sheet: str = "Items") -> None:
        self.faults = Faults()
        self.reader = RowReader(SHEET_BY_NAME[sheet], Row(17, {column: value}), self.faults)

    @property
    def why(self) -> str:
        (fault,) = self.faults
        assert (fault.sheet, fault.row) == (self.reader._spec.name, 17)
        assert self.reader.faulty == {fault.column}
        return fault.why


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        ("A1", "A1"),
        ("  A\u00a01 \n", "A 1"),
        ("\u200bA1\ufeff", "A1"),
        ("A   1\t2", "A 1 2"),
        ("A\u00ad1", "A1"),
        ("Mu\u0308ller", "M\u00fcller"),
        (1234.0, "1234"),
        (1234, "1234"),
        (12.5, "12.5"),
        (1e-7, "0.0000001"),
        (123456789012345.0, "123456789012345"),
        (True, "TRUE"),
        (None, ""),
    ],
)
def test_text(cell: CellValue | None, text: str) -> None:
    read = Cell(cell)
    assert read.reader.text("note") == text
    assert not read.faults


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("A\x07B", "control character U+0007"),
        ("A\x00B", "control character U+0000"),
        ("abc\u202edef", "control character U+202E"),
        ("x" * 201, "201 characters, and 200 is the most"),
        (dt.date(1994, 3, 1), "a date or time here: format the cell as text"),
        (dt.time(3, 4), "a date or time here: format the cell as text"),
        (1234567890123456.0, "15 digits"),
    ],
)
def test_text_refused(cell: CellValue, why: str) -> None:
    read = Cell(cell)
    assert read.reader.text("note") == ""
    assert why in read.why


def test_a_control_character_is_shown_but_does_not_act() -> None:
    read = Cell("A\x1b[31mB\u200b")
    assert read.reader.text("note") == ""
    assert read.faults.sorted()[0].value == "A\ufffd[31mB\ufffd"


def test_text_may_take_dates() -> None:
    assert Cell(dt.date(2026, 3, 1)).reader.text("note", takes_dates=True) == "2026-03-01"


def test_text_that_must_be_there() -> None:
    read = Cell(None, "depot")
    assert read.reader.text("depot", required=True) == ""
    assert read.why == "Every row of Items needs depot, and this cell is empty."


@pytest.mark.parametrize("cell", ["5", 5, 5.0, " 5 ", "5.0", "5,0", "+5", "\uff15", "\u00a05"])
def test_whole_number(cell: CellValue) -> None:
    read = Cell(cell)
    assert read.reader.whole_number("note") == 5
    assert not read.faults


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        (5.5, "A whole number is needed here: write 5 or 6."),
        ("5.5", "A whole number is needed here: write 5 or 6."),
        (-1, "It must not be less than 0."),
        ("-5.5", "It must not be less than 0."),
        ("five", "Write a whole number, such as 5, or leave the cell empty"),
        ("5 pieces", "Write a whole number"),
        ("1e3", "Write a whole number"),
        ("NaN", "Write a whole number"),
        ("1,000", "Is this 1.000 or 1000? Write what is meant."),
        (1_000_001, "It must not be more than 1,000,000."),
        ("9" * 400, "It must not be more than 1,000,000."),
        (True, "Write a whole number"),
        (dt.date(2026, 1, 5), "a date or time here: format the cell as a number"),
    ],
)
def test_whole_number_refused(cell: CellValue, why: str) -> None:
    read = Cell(cell)
    assert read.reader.whole_number("note") is None
    assert why in read.why


@pytest.mark.parametrize(
    ("cell", "mm"),
    [
        (98.5, "98.500"),
        (98, "98.000"),
        ("98.5", "98.500"),
        ("98,5", "98.500"),
        ("98.5 mm", "98.500"),
        ("98,5MM", "98.500"),
        (" 98.5\u00a0mm ", "98.500"),
        (0.1 + 0.2, "0.300"),
        ("0,125", "0.125"),
        ("1234,5", "1234.500"),
        ("98.50049", "98.500"),
        (5000, "5000.000"),
    ],
)
def test_decimal_mm(cell: CellValue, mm: str) -> None:
    read = Cell(cell)
    assert str(read.reader.decimal_mm("note")) == mm
    assert not read.faults


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        (-1.5, "It must not be less than 0 mm."),
        (5000.5, "It must not be more than 5,000 mm."),
        ("1,234", "Is this 1.234 or 1234?"),
        ("1.234,5", "Write a number of mm, such as 98.5"),
        ("9.8 cm", "Write a number of mm, such as 98.5"),
        ("98-120", "Write a number of mm, such as 98.5"),
        ("n/a", "or leave the cell empty if there is none"),
        ("inf", "Write a number of mm"),
        (float("nan"), "Write a number of mm"),
        (float("inf"), "Write a number of mm"),
        (False, "Write a number of mm"),
    ],
)
def test_decimal_mm_refused(cell: CellValue, why: str) -> None:
    read = Cell(cell)
    assert read.reader.decimal_mm("note") is None
    assert why in read.why


def test_decimal_of_another_unit() -> None:
    assert Cell("\u22125,5 C").reader.decimal("note", unit="C", places=1, least=Decimal(-40)) == Decimal(
        "-5.5"
    )


@pytest.mark.parametrize("cell", ["yes", "Yes ", "Y", "TRUE", True, 1, 1.0, "1", "ja"])
def test_yes(cell: CellValue) -> None:
    assert Cell(cell).reader.yes_no("note") is True


@pytest.mark.parametrize("cell", ["no", "N", "false", False, 0, 0.0, "0", "Nein"])
def test_no(cell: CellValue) -> None:
    assert Cell(cell).reader.yes_no("note") is False


@pytest.mark.parametrize("cell", ["maybe", 2, "x", "?"])
def test_neither_yes_nor_no(cell: CellValue) -> None:
    read = Cell(cell)
    assert read.reader.yes_no("note") is None
    assert read.why == "Write yes or no."


@pytest.mark.parametrize(
    ("cell", "choices", "choice"),
    [
        (" PASS", ("pass", "fail", "doubt"), "pass"),
        ("Hold-test", ("plain", "hold test", "calibration"), "hold test"),
        ("bore + mark", ("any", "bore", "mark", "bore+mark"), "bore+mark"),
        ("KPA", ("bar", "mbar", "kPa", "psi"), "kPa"),
    ],
)
def test_choice(cell: str, choices: tuple[str, ...], choice: str) -> None:
    assert Cell(cell).reader.choice("note", choices) == choice


def test_choice_refused_with_the_nearest() -> None:
    read = Cell("pased", "verdict", "Inspections")
    assert read.reader.choice("verdict", ("pass", "fail", "doubt")) is None
    assert read.why == "Write one of pass, fail, doubt. Perhaps pass is meant."


def test_choice_refused_without_a_near_one() -> None:
    read = Cell(17.0, "verdict", "Inspections")
    assert read.reader.choice("verdict", ("pass", "fail", "doubt")) is None
    assert read.why == "Write one of pass, fail, doubt."
    assert read.faults.sorted()[0].value == "17"


def test_dates_are_read_by_their_own_rules() -> None:
    printed = Cell("03/2027", "use_by").reader.printed_date("use_by", today=TODAY)
    assert printed is not None
    assert (printed.day, printed.precision, printed.text) == (dt.date(2027, 3, 31), "month", "03/2027")
    on = Cell(dt.datetime(2026, 3, 1), "use_by").reader.printed_date("use_by", today=TODAY, want="day")
    assert on is not None
    assert on.day == dt.date(2026, 3, 1)


def test_a_date_that_is_none_is_a_fault_with_what_to_write() -> None:
    read = Cell("31/02/2027", "use_by")
    assert read.reader.printed_date("use_by", today=TODAY) is None
    (fault,) = read.faults
    assert fault.value == "31/02/2027"
    assert fault.why.endswith("Write a day from 1 to 28.")


def test_blank_cells_stand_for_the_default_of_their_column() -> None:
    row = Row(2, {"kind": "bag", "check": "visual", "gates": None})
    reader = RowReader(SHEET_BY_NAME["Checks"], row, Faults())
    assert reader.choice("basis", ("done", "anchor")) == "done", "a column that the sheet does not have"
    assert reader.whole_number("early_days", required=True) == 0
    assert reader.yes_no("gates") is True
    assert reader.decimal("max_drop") is None


@given(
    st.one_of(
        st.text(max_size=300),
        st.floats(),
        st.integers(),
        st.booleans(),
        st.dates(),
        st.datetimes(),
        st.times(),
        st.timedeltas(),
    )
)
def test_every_cell_gives_a_value_or_exactly_one_fault(cell: CellValue) -> None:
    value = None if cell == "" or is_blank(cell) else cell
    for read in (
        lambda reader: reader.text("note"),
        lambda reader: reader.whole_number("note"),
        lambda reader: reader.decimal_mm("note"),
        lambda reader: reader.yes_no("note"),
        lambda reader: reader.choice("note", ("pass", "fail")),
        lambda reader: reader.printed_date("note", today=TODAY),
    ):
        one = Cell(value)
        got = read(one.reader)
        empty = got is None or got == ""
        assert len(one.faults) == (1 if empty and value is not None else 0)
