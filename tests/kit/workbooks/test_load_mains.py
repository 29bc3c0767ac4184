"""The sheet Mains, and what Jobs and Kinds say of sizes: loaded, loaded again, and every fault named at its cell."""

from __future__ import annotations

from decimal import Decimal as D
from pathlib import Path
from typing import Any

import pytest

from kit.models import Deed, Job, Kind, LedgerEntry, PipeSize, Standing
from kit.stores import acting, bore_of, prove_ledger, reserve
from kit.workbooks.load_report import LoadReport
from tests.kit.workbooks.depot_book import WHO, Book, depot_book, loaded
from tests.kit.workbooks.files import xlsx

pytestmark = pytest.mark.django_db

HEADINGS = ("material", "size", "inside_mm", "outside_mm", "wall_mm", "source", "note")
SIZED = ("far_bore_mm", "ovality_mm", "lining_mm", "crew", "priority")
BOOK = "survey of 1987"


def book() -> Book:
    """The small depot's book whose first job is on cast iron of 6 in, and a table of mains."""
    made = depot_book()
    made.headings["Mains"] = HEADINGS
    made.headings["Jobs"] = (*made.headings["Jobs"], *SIZED)
    made.headings["Kinds"] = (*made.headings["Kinds"], "bore_margin_mm", "sized_by")
    made.row("Jobs", reference="J-1").update(main_material="cast iron", main_size="6 in", bore_mm=None)
    made.add("Mains", material="cast iron", size="6 in", inside_mm=153.4, source=BOOK)
    made.add(
        "Mains", material="spun iron", size="DN150", outside_mm=177.3, wall_mm=9.5, source=BOOK, note="pit 4"
    )
    return made


def load(made: Book, tmp_path: Path) -> LoadReport:
    return loaded(made.xlsx(tmp_path / "register.xlsx"))


def faults(report: LoadReport) -> list[tuple[str, int | None, str | None]]:
    return [(each.sheet, each.row, each.column) for each in report.faults]


def test_a_table_of_mains_is_loaded_and_gives_jobs_of_the_same_file_their_bore(tmp_path: Path) -> None:
    report = load(book(), tmp_path)
    assert (report.loaded, list(report.faults), list(report.warnings)) == (True, [], [])
    assert bore_of(Job.objects.get(reference="J-1"))[0] == D("153.4")
    spun = PipeSize.objects.get(material="spun iron")
    assert (spun.outside_mm, spun.wall_mm, spun.inside_mm, spun.note) == (D("177.3"), D("9.5"), None, "pit 4")
    entries = LedgerEntry.objects.count()
    again = load(book(), tmp_path)
    assert (again.count("new"), again.count("changed")) == (0, 0)
    assert LedgerEntry.objects.count() == entries
    assert prove_ledger().fault is None


def test_a_row_that_differs_is_changed_and_what_it_moves_is_judged(tmp_path: Path) -> None:
    load(book(), tmp_path)
    with acting(WHO) as act:
        reserve(act, Job.objects.select_related("depot", "arrangement").get(reference="J-1"))
    made = book()
    made.row("Mains", size="6 in").update(size="NPS 6", inside_mm=149)
    report = load(made, tmp_path)
    assert [(row.key, row.what) for row in report.rows if row.outcome == "changed"] == [
        ("cast iron NPS 6", "inside_mm")
    ]
    job = Job.objects.get(reference="J-1")
    assert set(job.reservations.filter(item__kind__name="bag").values_list("standing", flat=True)) == {
        Standing.BROKEN
    }
    assert LedgerEntry.objects.filter(deed=Deed.SIZED, mentions__about="job:J-1").count() == 1
    assert prove_ledger().fault is None


def test_a_sheet_that_is_absent_leaves_the_table_as_it_is(tmp_path: Path) -> None:
    load(book(), tmp_path)
    load(depot_book(), tmp_path)
    assert PipeSize.objects.filter(withdrawn=False).count() == 2


@pytest.mark.parametrize(
    ("cells", "column", "why"),
    [
        ({"material": None}, "material", "needs material"),
        ({"size": None}, "size", "needs size"),
        ({"source": None}, "source", "needs source"),
        ({"inside_mm": None}, "inside_mm", "gives no bore"),
        ({"inside_mm": 0}, "inside_mm", "0 mm cannot be"),
        ({"inside_mm": "wide"}, "inside_mm", "Write a number of mm"),
        ({"inside_mm": 5001}, "inside_mm", "not be more than 5,000 mm"),
        ({"wall_mm": 9}, "wall_mm", "A wall alone says nothing"),
        ({"wall_mm": 501, "outside_mm": 2000}, "wall_mm", "not be more than 500 mm"),
        ({"inside_mm": None, "outside_mm": 18, "wall_mm": 9}, "wall_mm", "Twice the wall"),
        ({"outside_mm": 153.4}, "inside_mm", "not less than the outside diameter"),
        ({"outside_mm": 177.3, "wall_mm": 9.5}, "inside_mm", "less twice the wall is 158.3 mm"),
        ({"material": "Spun-Iron", "size": "150"}, "size", "keep one of the two"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_every_fault_is_named_at_its_cell_and_nothing_is_loaded(
    tmp_path: Path, cells: dict[str, Any], column: str, why: str
) -> None:
    made = book()
    at = 2
    if cells.get("size") == "150":
        at = made.add("Mains", material="x", size="x", inside_mm=1, source=BOOK)
        made.rows["Mains"][-1].update(cells)
    else:
        made.row("Mains", size="6 in").update(cells)
    report = load(made, tmp_path)
    assert faults(report) == [("Mains", at, column)]
    assert why in next(iter(report.faults)).why
    assert not PipeSize.objects.exists()


def test_a_csv_of_mains_is_known_by_its_headings(tmp_path: Path) -> None:
    assert loaded(book().csv(tmp_path / "mains.csv", "Mains")).count("new") == 2


def test_jobs_say_far_bore_ovality_lining_crew_and_priority(tmp_path: Path) -> None:
    made = book()
    said = {"far_bore_mm": "151,5 mm", "ovality_mm": 0, "lining_mm": 3, "crew": "Crew 2", "priority": 7}
    made.row("Jobs", reference="J-1").update(said)
    report = load(made, tmp_path)
    assert (report.loaded, list(report.warnings)) == (True, [])
    job = Job.objects.get(reference="J-1")
    assert (job.far_bore_mm, job.ovality_mm, job.lining_mm) == (D("151.5"), 0, 3)
    assert (job.crew, job.priority) == ("Crew 2", 7)
    assert bore_of(job)[0] == D("147.4")
    other = Job.objects.get(reference="J-2")
    assert (other.far_bore_mm, other.ovality_mm, other.lining_mm, other.crew, other.priority) == (
        None, None, None, "", 1,
    )  # fmt: skip
    # An older workbook without the columns leaves what is recorded; an empty cell takes it away.
    load(depot_book().without_columns("Jobs", "bore_mm"), tmp_path)
    assert Job.objects.get(reference="J-1").priority == 7
    load(book(), tmp_path)
    assert (Job.objects.get(reference="J-1").priority, Job.objects.get(reference="J-1").ovality_mm) == (
        1,
        None,
    )


@pytest.mark.parametrize(
    ("cells", "column", "why"),
    [
        ({"priority": 0}, "priority", "less than 1"),
        ({"priority": 10}, "priority", "more than 9"),
        ({"priority": 2.5}, "priority", "write 2 or 3"),
        ({"priority": "high"}, "priority", "whole number"),
        ({"far_bore_mm": 0}, "far_bore_mm", "0 mm cannot be"),
        ({"ovality_mm": -1}, "ovality_mm", "not be less than 0"),
        ({"lining_mm": 501}, "lining_mm", "more than 500 mm"),
        ({"bore_mm": 160, "ovality_mm": 160}, "ovality_mm", "as much as the bore of 160 mm"),
        ({"bore_mm": 160, "far_bore_mm": 20, "ovality_mm": 21}, "ovality_mm", "the bore of 20 mm"),
        ({"crew": "x" * 61}, "crew", "60 is the most"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_what_no_job_can_be_is_named(tmp_path: Path, cells: dict[str, Any], column: str, why: str) -> None:
    made = book()
    made.row("Jobs", reference="J-1").update(cells)
    report = load(made, tmp_path)
    assert faults(report) == [("Jobs", 2, column)]
    assert why in next(iter(report.faults)).why
    assert not Job.objects.exists()


def test_a_wall_wider_than_its_column_is_a_fault_and_not_a_failure(tmp_path: Path) -> None:
    made = book()
    made.headings["Jobs"] = (*made.headings["Jobs"], "main_wall_mm")
    made.row("Jobs", reference="J-1").update(main_wall_mm=1200)
    assert faults(load(made, tmp_path)) == [("Jobs", 2, "main_wall_mm")]


def test_kinds_say_their_margin_and_by_which_diameter_they_are_sized(tmp_path: Path) -> None:
    made = book()
    made.add("Kinds", kind="bag", bore_margin_mm="2,5")
    made.add("Kinds", kind="nose", sized_by="Outside")
    assert load(made, tmp_path).loaded
    bag, nose = Kind.objects.get(name="bag"), Kind.objects.get(name="nose")
    assert (bag.bore_margin_mm, bag.sized_by) == (D("2.5"), "inside")
    assert (nose.bore_margin_mm, nose.sized_by) == (0, "outside")
    later = Book()
    later.add("Kinds", kind="bag", margin_days=3)
    assert load(later, tmp_path).loaded
    assert Kind.objects.get(name="bag").bore_margin_mm == D("2.5")
    for cells, column in (({"bore_margin_mm": -1}, "bore_margin_mm"), ({"sized_by": "both"}, "sized_by")):
        wrong = book()
        wrong.add("Kinds", kind="bag", **cells)
        assert faults(load(wrong, tmp_path)) == [("Kinds", 2, column)]


def test_a_heading_as_people_type_it(tmp_path: Path) -> None:
    rows = [["Material", "Size", "Inside (mm)", "Source"], ["cast iron", "6 in", 153.4, BOOK]]
    assert loaded(xlsx(tmp_path / "r.xlsx", {"mains ": rows})).loaded
    assert PipeSize.objects.get().inside_mm == D("153.4")
