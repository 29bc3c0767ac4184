"""Records and checks that a register brings again: due dates move, and what a kind is asked for."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from inspections.models import Check, Due, Inspection
from kit.models import Item
from tests.kit.workbooks.depot_book import Book, counts, dump, in_days, loaded
from tests.kit.workbooks.loading_again import again, changed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]


def test_a_new_record_moves_the_due_date(book: Book, tmp_path: Path) -> None:
    assert Item.objects.get(tag="MB-G1").fit_until < in_days(0)
    book.add("Inspections", tag="MB-G1", check="Calibration", done_on=in_days(-1), verdict="PASS")
    report = again(book, tmp_path)
    assert counts(report)[:2] == (1, 0)
    assert Item.objects.get(tag="MB-G1").fit_until > in_days(300)


def test_a_fail_in_a_file_makes_the_piece_unfit_but_sets_nothing_aside(book: Book, tmp_path: Path) -> None:
    book.add("Inspections", tag="NY-B1", check="hold test", done_on=in_days(-1), verdict="fail")
    again(book, tmp_path)
    item = Item.objects.get(tag="NY-B1")
    assert (item.fit_until, item.state) == (None, "available")


def test_rows_that_say_the_same_are_as_many_records_and_warned_of(book: Book, tmp_path: Path) -> None:
    row = {"tag": "NY-S1", "check": "inspection", "done_on": in_days(-5), "verdict": "pass", "by": "A. Bench"}
    book.add("Inspections", **row)
    number = book.add("Inspections", **row)
    report = again(book, tmp_path)
    assert [(w.row, w.column) for w in report.warnings] == [(number, "tag")]
    assert Inspection.objects.filter(item__tag="NY-S1", done_on=in_days(-5)).count() == 2


# Checks and kinds ----------------------------------------------------------------------------------------------


def checks_of(kind: str) -> dict[str, str]:
    return dict(Check.objects.in_force().filter(kind__name=kind).values_list("name", "interval"))


def test_the_checks_of_a_kind_named_take_the_place_of_its_own(book: Book, tmp_path: Path) -> None:
    others = checks_of("pump")
    sheet = Book()
    sheet.add("Checks", kind="bag", check="visual", interval="P3M", basis="anchor", early_days=7, gates="no")
    report = again(sheet, tmp_path)
    assert checks_of("bag") == {"visual": "P3M"}
    assert checks_of("pump") == others
    assert [(row.key, row.outcome, row.what) for row in report.rows] == [
        ("bag: visual", "new", "no longer asked for: hold test")
    ]
    bag = Item.objects.get(tag="NY-B1")
    assert bag.fit_until == bag.use_by  # a check that does not gate does not limit
    assert list(Due.objects.filter(item=bag).values_list("check_due__name", "status")) == [
        ("visual", "never")
    ]
    assert Inspection.objects.filter(item=bag).count() == 1


def test_an_interval_changed_moves_every_due_date_of_the_kind(book: Book, tmp_path: Path) -> None:
    book.row("Checks", kind="bag")["interval"] = "P45D"
    report = again(book, tmp_path)
    assert changed(report) == [("Checks", "bag: hold test", "")]
    assert set(Item.objects.filter(kind__name="bag").values_list("fit_until", flat=True)) == {in_days(15)}


def test_an_empty_check_means_that_the_kind_has_none(book: Book, tmp_path: Path) -> None:
    sheet = Book()
    sheet.add("Checks", kind="bag")
    report = again(sheet, tmp_path)
    assert [(row.key, row.outcome) for row in report.rows] == [("bag: none", "changed")]
    assert checks_of("bag") == {}
    assert not Due.objects.filter(item__kind__name="bag").exists()
    assert Item.objects.get(tag="NY-B1").fit_reason.startswith("use-by")


def test_a_check_left_out_is_told_of_on_the_first_row_of_its_kind(book: Book, tmp_path: Path) -> None:
    book.add("Checks", kind="bag", check="visual", interval="P1M", basis="done", gates="yes")
    again(book, tmp_path)
    del book.rows["Checks"][-1]
    report = again(book, tmp_path)
    assert changed(report) == [("Checks", "bag: hold test", "no longer asked for: visual")]
    assert len(report.rows) == sum(len(rows) for rows in book.rows.values())


def test_a_check_in_other_letters_is_the_same_check(book: Book, tmp_path: Path) -> None:
    book.row("Checks", kind="bag")["check"] = "Hold Test"
    before = dump()
    assert counts(loaded(book.xlsx(tmp_path / "again.xlsx")))[:2] == (0, 0)
    assert dump() == before


def test_a_hold_test_check_needs_the_limit_it_is_judged_by(book: Book, tmp_path: Path) -> None:
    sheet = Book(headings={"Checks": ("kind", "check", "interval", "method", "unit", "max_drop", "guard")})
    sheet.add("Checks", kind="bag", check="hold test", interval="P6M", method="hold test", max_drop=0.01)
    report = loaded(sheet.xlsx(tmp_path / "readings.xlsx"))
    assert [(f.sheet, f.row, f.column) for f in report.faults] == [("Checks", 2, "unit")]
    sheet.rows["Checks"][0].update(unit="Bar", guard=0.002)
    report = loaded(sheet.xlsx(tmp_path / "mended.xlsx"))
    assert report.loaded
    check = Check.objects.get(kind__name="bag", name="hold test")
    assert (check.method, check.unit, check.max_drop, check.guard) == (
        "hold test",
        "bar",
        Decimal("0.01"),
        Decimal("0.002"),
    )
