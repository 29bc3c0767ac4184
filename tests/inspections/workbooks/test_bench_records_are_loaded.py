"""Hold tests and calibrations of a workbook: judged as at the bench, known again, dates and gates follow."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.judging import HoldTest
from inspections.models import Check, Due, Inspection, RetestCall, Review
from kit.models import Item
from kit.stores import prove_ledger
from tests.commands.running import run
from tests.inspections.bench import hold
from tests.inspections.workbooks.bench_book import HOLD_TEST, POINT, bench_book
from tests.kit.workbooks.depot_book import Book, counts, depot_book, dump, in_days, loaded

pytestmark = pytest.mark.django_db


def load(book: Book, folder: Path, name: str = "bench.xlsx"):
    report = loaded(book.xlsx(folder / name))
    assert [str(fault) for fault in report.faults] == []
    return report


def verdict(tag: str) -> Inspection:
    return Inspection.objects.get(item__tag=tag)


def test_each_row_is_judged_and_kept_with_its_figures_and_gauge(tmp_path: Path) -> None:
    book = bench_book()
    report = load(book, tmp_path)
    assert sum(counts(report)) == sum(len(rows) for rows in book.rows.values())
    stored = {tag: (verdict(tag).verdict, verdict(tag).figures) for tag in ("B-1", "B-2", "B-3", "G-1")}
    assert stored == {
        "B-1": ("pass", {"drop": 0.005, "limit": 0.01, "unit": "bar"}),
        "B-2": ("doubt", {"drop": 0.01, "limit": 0.01, "unit": "bar"}),
        "B-3": ("fail", {"drop": 0.2, "limit": 0.15, "unit": "psi"}),
        "G-1": ("pass", {"max_error": 0.005, "permissible": 0.0096, "hysteresis": 0.002, "unit": "bar"}),
    }
    assert (verdict("B-1").gauge.tag, verdict("B-1").by, verdict("B-3").by) == ("G-1", "A. Bench", "")
    assert prove_ledger().fault is None


def test_dates_and_gates_follow(tmp_path: Path) -> None:
    load(bench_book(), tmp_path)
    dues = {
        (due.item.tag, due.check_due.name): due for due in Due.objects.select_related("item", "check_due")
    }
    assert dues["B-1", "hold test"].last_done == in_days(-10)
    fit = dict(Item.objects.values_list("tag", "fit_until"))
    assert fit["B-1"] == dues["B-1", "hold test"].due_on > in_days(0)
    assert (fit["B-2"], fit["B-3"]) == (None, None)
    assert fit["G-1"] == dues["G-1", "calibration"].due_on
    # A register tells what was: nothing is set aside by it.
    assert set(Item.objects.values_list("state", flat=True)) == {"available"}


@pytest.mark.parametrize("form", ["xlsx", "ods"])
def test_the_same_again_changes_nothing_whatever_its_form(tmp_path: Path, form: str) -> None:
    book = bench_book()
    load(book, tmp_path)
    before = dump()
    report = loaded(
        book.xlsx(tmp_path / "again.xlsx") if form == "xlsx" else book.ods(tmp_path / "again.ods")
    )
    assert counts(report) == (0, 0, sum(len(rows) for rows in book.rows.values()))
    assert [str(warning) for warning in report.warnings] == []
    assert dump() == before


def test_sheet_by_sheet_as_csv_is_the_same_register(tmp_path: Path) -> None:
    book = bench_book()
    for sheet in ("Checks", "Items", "Inspections", "Calibrations", "Hold tests"):
        report = loaded(book.csv(tmp_path / f"{sheet}.csv", sheet))
        assert [str(fault) for fault in report.faults] == []
    before = dump()
    assert counts(load(book, tmp_path))[:2] == (0, 0)
    assert dump() == before


def test_points_in_another_order_are_the_same_calibration_and_one_more_point_is_another(
    tmp_path: Path,
) -> None:
    book = bench_book()
    load(book, tmp_path)
    book.rows["Calibrations"].reverse()
    assert counts(load(book, tmp_path))[0] == 0
    book.add("Calibrations", **{**POINT, "reference": 0.5, "as_found": 0.501})
    assert counts(load(book, tmp_path))[0] == 6
    assert Inspection.objects.filter(item__tag="G-1").count() == 2


def test_what_was_recorded_at_the_bench_is_known_by_its_readings(tmp_path: Path) -> None:
    book = bench_book()
    del book.rows["Hold tests"]
    load(book, tmp_path)
    made = hold(
        "B-1",
        HoldTest.from_json(
            {"start_pressure": "0.20", "end_pressure": "0.1950", "unit": "bar", "minutes": "5.0"}
        ),
        ago=10,
        by="A. Bench",
    )
    book.add("Hold tests", **HOLD_TEST)
    assert counts(load(book, tmp_path))[0] == 0
    assert verdict("B-1") == made


def test_what_the_register_has_is_not_judged_by_what_came_later(tmp_path: Path) -> None:
    book = bench_book()
    load(book, tmp_path)
    later = bench_book()
    later.add("Inspections", tag="G-1", check="calibration", done_on=in_days(-20), verdict="fail")
    later.row("Checks", unit="bar", check="hold test")["max_drop"] = 0.001
    assert counts(load(later, tmp_path))[0] == 1
    assert verdict("B-1").verdict == "pass"


def test_two_tests_that_say_the_same_are_kept_with_a_warning(tmp_path: Path) -> None:
    book = bench_book()
    number = book.add("Hold tests", **HOLD_TEST)
    report = load(book, tmp_path)
    assert [(w.sheet, w.row, w.column) for w in report.warnings] == [("Hold tests", number, "tag")]
    assert Inspection.objects.filter(item__tag="B-1").count() == 2
    before = dump()
    load(book, tmp_path)
    assert dump() == before


def test_what_a_spreadsheet_adds_to_a_number_was_not_read(tmp_path: Path) -> None:
    book = bench_book()
    book.rows["Hold tests"][0]["end_pressure"] = 0.1 + 0.09000000000000001  # 0.19000000000000003
    load(book, tmp_path)
    assert verdict("B-1").readings["test"]["end_pressure"] == "0.19"
    assert verdict("B-1").figures["drop"] == 0.01


def test_limits_for_another_unit_stand_in_a_row_of_their_own(tmp_path: Path) -> None:
    book = bench_book()
    load(book, tmp_path)
    check = Check.objects.get(kind__name="bag", name="hold test")
    assert check.other_limits == {"psi": {"max_pressure": "3", "max_drop": "0.15", "guard": "0.03"}}
    report = loaded(book.csv(tmp_path / "Checks.csv", "Checks"))
    assert (counts(report)[:2], check.versions.count()) == ((0, 0), 1)
    book.row("Checks", unit="psi")["max_drop"] = 0.2
    report = loaded(book.csv(tmp_path / "Checks.csv", "Checks"))
    assert [(row.row, row.outcome) for row in report.rows if row.outcome != "unchanged"] == [
        (2, "changed"),
        (3, "changed"),
    ]
    del book.rows["Checks"][1]
    loaded(book.csv(tmp_path / "Checks.csv", "Checks"))
    check.refresh_from_db()
    assert (check.other_limits, check.versions.count()) == ({}, 3)


def test_a_gauge_found_out_puts_what_the_same_workbook_brings_under_review(tmp_path: Path) -> None:
    book = bench_book()
    for at, found, left in ((0.2, 0.25, 0.201), (0.6, 0.65, 0.6)):
        book.add(
            "Calibrations",
            **{**POINT, "done_on": in_days(-5), "reference": at, "as_found": found, "as_left": left},
        )
    load(book, tmp_path)
    review = Review.objects.get()
    assert (review.gauge.tag, review.after, review.until) == ("G-1", in_days(-100), in_days(-5))
    assert {each.inspection.item.tag for each in review.records.all()} == {"B-1", "B-3"}
    assert prove_ledger().fault is None
    before = dump()
    load(book, tmp_path)
    assert dump() == before


def test_what_a_register_puts_in_doubt_waits_for_a_person_and_sets_nothing_aside(tmp_path: Path) -> None:
    load(bench_book(), tmp_path, "before.xlsx")
    before = dict(Item.objects.filter(kind__name="bag").values_list("tag", "fit_until"))
    book = bench_book()
    # It read 0.04 bar too much at 0.19 bar and nothing at 0.2 bar: what it showed as a drop of 0.005 bar was more.
    for at, found, left in ((0.19, 0.23, 0.19), (0.2, 0.2, 0.2)):
        book.add(
            "Calibrations",
            **{**POINT, "done_on": in_days(-5), "reference": at, "as_found": found, "as_left": left},
        )
    load(book, tmp_path)
    [review] = Review.objects.all()
    reviewed = review.records.get(inspection__item__tag="B-1")
    assert (reviewed.inspection.verdict, reviewed.rejudged, reviewed.outcome) == ("pass", "fail", "")
    assert review.closed_at is None
    assert not RetestCall.objects.exists()
    after = dict(Item.objects.filter(kind__name="bag").values_list("tag", "fit_until"))
    assert after == before
    assert after["B-1"] is not None
    assert prove_ledger().fault is None


def test_many_tests_take_no_query_each(tmp_path: Path) -> None:
    def queries(tests: int, name: str) -> int:
        book = bench_book()
        for number in range(tests):
            book.add("Hold tests", **{**HOLD_TEST, "end_pressure": 0.2 - number / 1_000_000, "by": name})
        path = book.xlsx(tmp_path / f"{name}.xlsx")
        with CaptureQueriesContext(connection) as seen:
            assert loaded(path).loaded
        return len(seen)

    load(bench_book(), tmp_path)
    few, many = queries(10, "few"), queries(210, "many")
    # Rows and ledger entries are written some hundreds at a time.
    assert many - few < 20


def test_a_depot_that_states_its_limits_later_may_still_bring_what_it_read_before(tmp_path: Path) -> None:
    """On that day the checks were plain: the first version that can judge readings judges them, none is rewritten."""
    load(depot_book(), tmp_path, "depot.xlsx")
    known = Inspection.objects.get(item__tag="NY-B1")
    book = bench_book()
    del book.rows["Items"], book.rows["Inspections"]
    for row in book.rows["Calibrations"]:
        row["gauge"] = "MB-G1"
    book.rows["Hold tests"] = [{**HOLD_TEST, "tag": "NY-B1", "gauge": "MB-G1"}]
    load(book, tmp_path)
    made = Inspection.objects.filter(item__tag="NY-B1").latest("pk")
    assert (made.verdict, made.version.number, made.done_on) == (
        "pass",
        known.version.number + 1,
        in_days(-10),
    )
    assert run("verdicts").code == 0
    before = dump()
    load(book, tmp_path)
    assert dump() == before
