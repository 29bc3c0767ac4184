"""Bench rows that cannot be: each is one fault at its cell, in a sentence, and nothing of the file is written."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.inspections.workbooks.bench_book import HOLD_TEST, POINT, bench_book
from tests.kit.workbooks.depot_book import Book, Broken, dump, in_days, loaded

pytestmark = pytest.mark.django_db


@dataclass(frozen=True, slots=True)
class Expected:
    """One fault; `why` is a part of its sentence."""

    sheet: str
    row: int
    column: str
    value: str | None
    why: str


FAULTS: dict[str, Callable[[Book], Expected]] = {}


def hold_row(name: str, column: str, value: str | None, why: str, **cells: Any) -> None:
    """A row of Hold tests that is sound but for `cells`."""

    def spoil(book: Book) -> Expected:
        # No two rows the same, so that none is warned of.
        row = {**HOLD_TEST, "by": f"{name}"[:100], **cells}
        return Expected("Hold tests", book.add("Hold tests", **row), column, value, why)

    FAULTS[f"hold test: {name}"] = spoil


def point(name: str, column: str, value: str | None, why: str, **cells: Any) -> None:
    """A calibration of one point that is sound but for `cells`."""

    def spoil(book: Book) -> Expected:
        usual = {**POINT, "gauge": "G-3", "reference": 0.3, "as_found": 0.3, "by": name}
        return Expected("Calibrations", book.add("Calibrations", **{**usual, **cells}), column, value, why)

    FAULTS[f"calibration: {name}"] = spoil


FUTURE = in_days(2)
hold_row("no tag", "tag", None, "needs tag", tag=None)
hold_row("unknown tag", "tag", "B-11", "There is no item B-11", tag="B-11")
hold_row("tag in small letters", "tag", "b-1", "Did you mean B-1?", tag="b-1")
hold_row("unknown check", "check", "hold tset", "Did you mean hold test?", check="hold tset")
hold_row("no hold test", "check", "visual", "was no hold test on", check="visual")
hold_row("future", "done_on", FUTURE.isoformat(), "is in the future", done_on=FUTURE)
hold_row("no such day", "done_on", "31/02/2026", "no day 31 in February", done_on="31/02/2026")
hold_row("negative start", "start_pressure", "-0.1", "-0.1 bar is below zero", start_pressure=-0.1)
hold_row("negative end", "end_pressure", "-0.01", "-0.01 bar is below zero", end_pressure=-0.01)
hold_row("no end", "end_pressure", None, "needs end_pressure", end_pressure=None)
hold_row("words", "end_pressure", "about 0.2", "Write a number", end_pressure="about 0.2")
hold_row("psi as bar", "start_pressure", "3", "was it read in psi?", start_pressure=3, end_pressure=2.9)
hold_row(
    "over printed psi",
    "start_pressure",
    "3.1",
    "3 psi as printed",
    start_pressure=3.1,
    end_pressure=3,
    unit="psi",
)
hold_row("unknown unit", "unit", "atm", "Write one of bar, mbar, kPa, psi", unit="atm")
hold_row("no unit", "unit", None, "needs unit", unit=None)
hold_row("too short", "minutes", "4.5", "this check asks for 5", minutes=4.5)
hold_row("no time", "minutes", "0", "write a time above zero", minutes=0)
hold_row("end before start", "minutes", "-5", "write a time above zero", minutes=-5)
hold_row("one temperature", "end_c", None, "write both temperatures, or neither", start_c=12)
hold_row("a slip in degrees", "start_c", "200", "surely a slip of the key", start_c=200, end_c=20)
hold_row("no gauge", "gauge", None, "needs gauge", gauge=None)
hold_row("unknown gauge", "gauge", "G-11", "Did you mean G-1?", gauge="G-11")
hold_row("itself", "gauge", "B-1", "B-1 is the item under test", gauge="B-1")
hold_row("no gauge at all", "gauge", "S-1", "no check of a base is a calibration", gauge="S-1")
hold_row("never calibrated", "gauge", "G-3", "had no calibration on record by that day", gauge="G-3")
hold_row(
    "not calibrated yet", "gauge", "G-2", "had no calibration on record", gauge="G-2", done_on=in_days(-51)
)
hold_row("an error", "start_pressure", "#DIV/0!", "a division by zero", start_pressure=Broken("#DIV/0!"))
point("unknown gauge", "gauge", "G-9", "There is no item G-9", gauge="G-9")
point("no calibration", "check", "inspection", "was no calibration on", gauge="S-1", check="inspection")
point("unknown check", "check", "calibrations", "Did you mean calibration?", check="calibrations")
point("future", "done_on", FUTURE.isoformat(), "is in the future", done_on=FUTURE)
point("direction", "direction", "across", "Write one of up, down", direction="across")
point("no reference", "reference", None, "needs reference", reference=None)
point("negative reference", "reference", "-0.3", "must not be less than 0", reference=-0.3)
point("beyond the dial", "reference", "0.7", "beyond the span of 0.6 bar", reference=0.7)
point("nothing read", "as_found", None, "Nothing was read as found", as_found=None)
point("only as left", "as_found", None, "Nothing was read as found", as_found=None, as_left=0.3)
point("unit", "unit", "m", "Write one of bar, mbar, kPa, psi", unit="m")


def fault(name: str):
    def keep(spoil: Callable[[Book], Expected]) -> None:
        FAULTS[name] = spoil

    return keep


@fault("a point twice")
def _(book: Book) -> Expected:
    number = book.add("Calibrations", **{**POINT, "direction": "down", "reference": "0.30", "as_found": 0.3})
    return Expected("Calibrations", number, "reference", "0.30", "is there twice")


@fault("two units in one calibration")
def _(book: Book) -> Expected:
    usual = {**POINT, "gauge": "G-3", "by": "two units", "reference": 0.1, "as_found": 0.1}
    first = book.add("Calibrations", **usual)
    number = book.add("Calibrations", **{**usual, "unit": "mbar", "direction": "down"})
    return Expected("Calibrations", number, "unit", "mbar", f"is in bar in row {first}")


@fault("the limits of a unit twice")
def _(book: Book) -> Expected:
    number = book.add("Checks", kind="bag", check="hold test", interval="P6M", unit="psi", max_drop=0.2)
    return Expected("Checks", number, "unit", "psi", "Row 3 gives its limits in psi already")


@fault("a row for another unit that says something else besides")
def _(book: Book) -> Expected:
    number = book.add("Checks", kind="bag", check="Hold test", interval="P3M", unit="mbar", max_drop=10)
    return Expected("Checks", number, "check", "Hold test", "Row 2 gives bag the check Hold test already")


@fault("a row for another unit without limits")
def _(book: Book) -> Expected:
    number = book.add("Checks", kind="bag", check="hold test", unit="kPa", interval="P6M")
    return Expected("Checks", number, "unit", "kPa", "says nothing for kPa")


@fault("a second dial of a gauge")
def _(book: Book) -> Expected:
    number = book.add("Checks", kind="gauge", check="calibration", interval="P12M", unit="psi", guard=0.1)
    return Expected("Checks", number, "check", "calibration", "keep one of the two")


def found(book: Book, path: Path) -> list[tuple[str, int | None, str | None, str | None]]:
    return [(each.sheet, each.row, each.column, each.value) for each in loaded(book.xlsx(path)).faults]


@pytest.mark.once
def test_each_fault_alone_is_one_fault_at_its_cell(tmp_path: Path, subtests: pytest.Subtests) -> None:
    before = dump()
    for name, spoil in FAULTS.items():
        with subtests.test(name):
            book = bench_book()
            expected = spoil(book)
            report = loaded(book.xlsx(tmp_path / "faulty.xlsx"))
            assert [(f.sheet, f.row, f.column, f.value) for f in report.faults] == [
                (expected.sheet, expected.row, expected.column, expected.value)
            ]
            [fault] = report.faults
            assert expected.why in fault.why
            assert re.search(r"[.?]$", fault.why)
            assert not report.loaded
            assert dump() == before


def test_faults_of_one_file_are_all_named_at_once(tmp_path: Path) -> None:
    book = bench_book()
    # Two of them lean on G-3 never having been calibrated well, and others are rows of its calibrations.
    spoils = [spoil for name, spoil in FAULTS.items() if "never calibrated" not in name]
    expected = [spoil(book) for spoil in spoils]
    assert len(expected) >= 40
    before = dump()
    order = sorted((e.sheet, e.row, e.column, e.value or "") for e in expected)
    assert sorted((s, r, c, v or "") for s, r, c, v in found(book, tmp_path / "faulty.xlsx")) == order
    assert dump() == before


def test_faults_of_readings_are_named_beside_faults_of_items(tmp_path: Path) -> None:
    book = bench_book()
    book.row("Items", tag="S-1")["kind"] = "bse"
    book.row("Hold tests", tag="B-1")["minutes"] = 2
    assert found(book, tmp_path / "faulty.xlsx") == [
        ("Items", 8, "kind", "bse"),
        ("Hold tests", 2, "minutes", "2"),
    ]


@pytest.mark.parametrize(
    ("sheet", "key", "column", "value"),
    [
        ("Items", {"tag": "G-1"}, "kind", "guage"),
        ("Items", {"tag": "B-1"}, "kind", "bga"),
        ("Inspections", {"tag": "G-2"}, "verdict", "good"),
        ("Inspections", {"tag": "G-2"}, "done_on", "2026-02-30"),
        ("Calibrations", {"direction": "up", "reference": 0.3}, "as_found", "o.3"),
        ("Checks", {"check": "hold test", "unit": "bar"}, "max_drop", "little"),
        ("Checks", {"check": "hold test", "unit": "psi"}, "max_drop", "little"),
        ("Checks", {"check": "calibration"}, "span", "wide"),
        ("Checks", {"check": "calibration"}, "kind", "guage"),
    ],
)
def test_rows_that_lean_on_a_faulty_one_are_not_reported_on_top_of_it(
    tmp_path: Path, sheet: str, key: dict[str, Any], column: str, value: str
) -> None:
    book = bench_book()
    row = book.row(sheet, **key)
    row[column] = value
    number = book.rows[sheet].index(row) + 2
    assert found(book, tmp_path / "faulty.xlsx") == [(sheet, number, column, value)]


def test_a_sheet_whose_columns_are_missing_is_one_fault(tmp_path: Path) -> None:
    book = bench_book().without_columns("Calibrations", "gauge")
    assert found(book, tmp_path / "faulty.xlsx") == [("Calibrations", 1, "gauge", None)]


def test_calibrations_of_the_same_file_count_up_to_and_with_their_day(tmp_path: Path) -> None:
    """In by the certificate from that very day on; out from the day it was found out and left so."""
    book = bench_book()
    book.add(
        "Calibrations",
        **{**POINT, "gauge": "G-2", "done_on": in_days(-20), "reference": 0.3, "as_found": 0.4},
    )
    rows = {
        ago: book.add("Hold tests", **{**HOLD_TEST, "gauge": "G-2", "done_on": in_days(-ago)})
        for ago in (51, 50, 21, 20)
    }
    # The sound row of B-2 relied on G-2 after it was found out.
    assert found(book, tmp_path / "faulty.xlsx") == [
        ("Hold tests", row, "gauge", "G-2") for row in sorted([3, rows[51], rows[20]])
    ]
