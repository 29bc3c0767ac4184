"""A workbook with faults: each is named once, at its cell, nothing on top of it, and no table is touched."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from kit.models import Depot, Item, Job
from kit.stores import acting, cancel_job, issue_piece, reserve, send
from kit.workbooks.faults import Fault
from tests.commands.running import run
from tests.kit.workbooks.depot_book import WHO, Book, depot_book, dump, in_days, loaded
from tests.kit.workbooks.faulty_rows import FAULTS, Expected, clean_book

pytestmark = pytest.mark.django_db


@pytest.fixture
def register(tmp_path: Path) -> None:
    assert loaded(depot_book().xlsx(tmp_path / "before.xlsx")).loaded


def place(fault: Fault | Expected) -> tuple[Any, ...]:
    return fault.sheet, fault.row, fault.column, fault.value


def test_the_rows_round_the_faults_are_sound(register: None, tmp_path: Path) -> None:
    report = loaded(clean_book().xlsx(tmp_path / "clean.xlsx"))
    assert (report.loaded, list(report.faults), list(report.warnings)) == (True, [], [])


@pytest.mark.once
def test_each_fault_alone_is_one_fault_at_its_cell(
    register: None, tmp_path: Path, subtests: pytest.Subtests
) -> None:
    # One register for all of them: each leaves it as it was, or the next comparison fails.
    before = dump()
    for name, spoil in FAULTS.items():
        with subtests.test(name):
            book = clean_book()
            expected = spoil(book)
            report = loaded(book.xlsx(tmp_path / "faulty.xlsx"))
            assert [place(fault) for fault in report.faults] == [place(expected)]
            [fault] = report.faults
            assert expected.why in fault.why
            assert re.search(r"[.?]$", fault.why)
            assert not report.loaded
            assert dump() == before


def test_all_faults_at_once_are_exactly_those_and_every_table_is_as_before(
    register: None, tmp_path: Path
) -> None:
    book = clean_book()
    expected = [spoil(book) for spoil in FAULTS.values()]
    assert len(expected) >= 50
    before = dump()
    path = book.xlsx(tmp_path / "faulty.xlsx")
    said = run("load_register", str(path), "--format", "json")
    assert said.code == 2
    assert said.err == f"{path} was not loaded: {len(expected)} faults. Nothing has changed.\n"
    answer = said.json
    assert list(answer) == ["loaded", "new", "changed", "unchanged", "faults", "warnings"]
    assert (answer["loaded"], answer["new"], answer["changed"], answer["unchanged"]) == (False, 0, 0, 0)
    assert all(
        list(f) == ["sheet", "row", "column", "value", "why"] for f in answer["faults"] + answer["warnings"]
    )
    got = sorted((f["sheet"], f["row"], f["column"], f["value"] or "") for f in answer["faults"])
    assert got == sorted((e.sheet, e.row, e.column, e.value or "") for e in expected)
    whys = {(f["sheet"], f["row"], f["column"]): f["why"] for f in answer["faults"]}
    for e in expected:
        assert e.why in whys[e.sheet, e.row, e.column]
    assert dump() == before


def test_faults_come_in_the_order_of_the_workbook_in_text_as_well(register: None, tmp_path: Path) -> None:
    book = clean_book()
    for spoil in FAULTS.values():
        spoil(book)
    path = book.xlsx(tmp_path / "faulty.xlsx")
    listed = [place(fault) for fault in loaded(path).faults]
    sheets = ["Items", "Inspections", "Checks", "Jobs", "Arrangements", "Kinds"]
    assert [(sheets.index(sheet), row) for sheet, row, *_ in listed] == sorted(
        (sheets.index(sheet), row) for sheet, row, *_ in listed
    )
    said = run("load_register", str(path))
    assert said.code == 2
    assert said.out == ""
    first, *lines = said.err.splitlines()
    assert first == f"{path} was not loaded: {len(listed)} faults. Nothing has changed."
    assert len(lines) == len(listed)
    assert lines[0].startswith("Items row")


@pytest.mark.parametrize(
    ("sheet", "column", "leaning"),
    [
        ("Items", "tag", "inspections of its tags"),
        ("Items", "kind", "inspections of its items"),
        ("Checks", "check", "inspections by its checks"),
        ("Kinds", "kind", "items of its kinds"),
        ("Arrangements", "arrangement", "jobs by its arrangements"),
    ],
)
def test_a_heading_that_is_missing_is_one_fault_and_not_one_a_row(
    tmp_path: Path, sheet: str, column: str, leaning: str
) -> None:
    book = depot_book()
    book.add("Kinds", kind="hose")
    book.add("Items", tag="H-1", kind="hose", depot="NY")
    book.changes.append(lambda workbook: retitle(workbook, sheet, column, "xyz"))
    before = dump()
    report = loaded(book.xlsx(tmp_path / "faulty.xlsx"))
    assert [(f.sheet, f.row, f.column) for f in report.faults] == [(sheet, 1, column)], leaning
    assert dump() == before


def retitle(workbook: Workbook, sheet: str, column: str, heading: str) -> None:
    [cell] = [cell for cell in workbook[sheet][1] if cell.value == column]
    cell.value = heading


def test_an_empty_sheet_is_one_fault(tmp_path: Path) -> None:
    book = depot_book()
    book.changes.append(lambda workbook: workbook["Items"].delete_rows(1, 50))
    report = loaded(book.xlsx(tmp_path / "faulty.xlsx"))
    assert [(f.sheet, f.row, f.column, f.value) for f in report.faults] == [("Items", None, None, None)]


def test_faults_in_ods_and_csv_are_at_the_same_cells(register: None, tmp_path: Path) -> None:
    book = Book()
    for name in ("an unknown kind", "a day that never was", "half a range", "three of a single piece"):
        book.add("Items", tag=f"OK-{name}", kind="bag", depot="NY")
        book.rows.setdefault("Inspections", [])
        FAULTS[name](book)
    del book.rows["Inspections"]
    expected = [("Items", 3, "kind", "bga"), ("Items", 5, "use_by", "31/02/2027")]
    expected += [("Items", 7, "bore_max_mm", None), ("Items", 9, "quantity", "3")]
    before = dump()
    for path in (
        book.xlsx(tmp_path / "f.xlsx"),
        book.ods(tmp_path / "f.ods"),
        book.csv(tmp_path / "f.csv", "Items"),
    ):
        assert [place(fault) for fault in loaded(path).faults] == expected, path.suffix
    assert dump() == before


def test_a_job_that_has_ended_stays_as_it_is(register: None, tmp_path: Path) -> None:
    with acting(WHO) as act:
        cancel_job(act, Job.objects.get(reference="J-1"), "main is dead")
    book = depot_book()
    assert loaded(book.xlsx(tmp_path / "same.xlsx")).loaded
    book.row("Jobs", reference="J-1")["return_on"] = in_days(30)
    before = dump()
    report = loaded(book.xlsx(tmp_path / "later.xlsx"))
    [fault] = report.faults
    assert place(fault) == ("Jobs", 2, "reference", "J-1")
    assert "is cancelled in the register" in fault.why
    assert dump() == before


def test_what_the_store_refuses_while_writing_is_a_fault_of_that_row(register: None, tmp_path: Path) -> None:
    """A bag is out by a line that the new version of the arrangement does not have."""
    with acting(WHO) as act:
        job = Job.objects.get(reference="J-1")
        reserve(act, job)
        issue_piece(act, job, job.reservations.filter(line__name="bags")[0].item)
    book = depot_book()
    book.row("Arrangements", line="bags")["line"] = "north bags"
    before = dump()
    report = loaded(book.xlsx(tmp_path / "other.xlsx"))
    [fault] = report.faults
    assert place(fault) == ("Jobs", 2, "arrangement", "short stop")
    assert "the new arrangement does not have" in fault.why
    assert dump() == before


@pytest.mark.parametrize("custody", ["on-site", "in-transit"])
def test_a_piece_that_is_away_is_not_moved_to_another_depot(
    register: None, tmp_path: Path, custody: str
) -> None:
    with acting(WHO) as act:
        bag = Item.objects.get(tag="NY-B1")
        if custody == "on-site":
            job = Job.objects.get(reference="J-1")
            reserve(act, job)
            bag = job.reservations.filter(line__name="bags")[0].item
            issue_piece(act, job, bag)
        else:
            send(act, bag, Depot.objects.get(code="MB"), in_days(3))
    book = depot_book()
    book.row("Items", tag=bag.tag)["depot"] = "MB"
    report = loaded(book.xlsx(tmp_path / "moved.xlsx"))
    [fault] = report.faults
    assert (fault.sheet, fault.column, fault.value) == ("Items", "depot", "MB")
    assert f"{bag.tag} is {'on site' if custody == 'on-site' else 'in transit'}" in fault.why


def test_columns_left_out_count_as_the_register_has_them(register: None, tmp_path: Path) -> None:
    """What a row says is judged together with what it does not say: or the database would have to refuse it."""
    book = Book().without_columns("Items", "maker", "bore_max_mm", "made_on")
    book.add("Items", tag="NY-B1", kind="bag", depot="NY", serial="S6", bore_min_mm=150, use_by=in_days(99))
    book.add("Items", tag="NY-B2", kind="bag", depot="NY", serial="S2", bore_min_mm=190, use_by=in_days(99))
    book.add("Items", tag="NY-B3", kind="bag", depot="NY", serial="S3", use_by=in_days(99))
    book.add("Items", tag="NY-B4", kind="bag", depot="NY", serial="S4", bore_min_mm=150, use_by=in_days(-400))
    book.add("Items", tag="MB-G1", kind="gauge", depot="MB", serial="77", bore_min_mm=150)
    before = dump()
    report = loaded(book.xlsx(tmp_path / "part.xlsx"))
    assert [place(fault) for fault in report.faults] == [
        ("Items", 2, "serial", "S6"),
        ("Items", 3, "bore_min_mm", "190"),
        ("Items", 4, "bore_min_mm", None),
        ("Items", 5, "use_by", in_days(-400).isoformat()),
        ("Items", 6, "bore_min_mm", "150"),
    ]
    assert dump() == before


def test_a_maker_changed_alone_can_make_a_serial_a_second_one(register: None, tmp_path: Path) -> None:
    book = Book().without_columns("Items", "serial")
    book.add("Items", tag="MB-Q1", kind="gauge", depot="MB", maker="Plumb Ltd")
    assert loaded(book.xlsx(tmp_path / "one.xlsx")).loaded  # serial 78, and Plumb Ltd has a 77
    more = Book()
    more.add("Items", tag="MB-G9", kind="gauge", depot="MB", maker="Anvil & Sons", serial="77")
    assert loaded(more.xlsx(tmp_path / "two.xlsx")).loaded
    book.add("Items", tag="MB-G9", kind="gauge", depot="MB", maker="Plumb Ltd")
    report = loaded(book.xlsx(tmp_path / "three.xlsx"))
    assert [place(fault) for fault in report.faults] == [("Items", 3, "maker", "Plumb Ltd")]
    assert "MB-G1 in the register is a gauge with this maker and serial" in next(iter(report.faults)).why
