"""The demo's workbook: what is in it, that a day always gives the same one, and that loading it again is no change."""

import re
import subprocess
import sys
from collections import Counter, defaultdict
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import factory.random
import pytest
from django.utils import timezone
from openpyxl import load_workbook

from demo_fixtures.make_workbook import build
from inspections.models import Review
from kit.models import LedgerEntry
from kit.stores import Who
from kit.stores.found import SHIPPED_KINDS
from kit.workbooks.loading import load_register

TOP = Path(__file__).resolve().parent.parent
FIXTURES = TOP / "demo_fixtures"
COMMITTED_FOR = date(2026, 11, 25)


def sheets(content: bytes) -> dict[str, list[dict[str, Any]]]:
    """Every sheet as rows by heading."""
    found = {}
    for sheet in load_workbook(BytesIO(content)):
        headings, *rows = sheet.iter_rows(values_only=True)
        found[sheet.title] = [dict(zip(headings, row, strict=True)) for row in rows]
    return found


@pytest.fixture(scope="module")
def book() -> dict[str, list[dict[str, Any]]]:
    return sheets(build(COMMITTED_FOR))


def test_it_has_the_sheets_of_the_design(book: dict[str, list[dict[str, Any]]]) -> None:
    assert set(book) == {
        "Kinds", "Checks", "Items", "Inspections", "Hold tests", "Calibrations", "Arrangements", "Jobs",
        "Depots", "Ways",
    }  # fmt: skip


def test_two_depots_hold_four_hundred_items_of_every_shipped_kind(
    book: dict[str, list[dict[str, Any]]],
) -> None:
    by_depot = Counter(row["depot"] for row in book["Items"])
    assert len(by_depot) == 2
    assert min(by_depot.values()) > 150
    assert by_depot.total() >= 400
    assert set(SHIPPED_KINDS) <= {row["kind"] for row in book["Items"]}
    ranges = {(row["bore_min_mm"], row["bore_max_mm"]) for row in book["Items"] if row["kind"] == "bag"}
    assert len(ranges) >= 5
    for kind in ("bagging head", "base"):
        assert len({row["mark"] for row in book["Items"] if row["kind"] == kind} - {None}) >= 3


def test_twenty_six_jobs_load_in_the_coming_weeks_at_both_depots(
    book: dict[str, list[dict[str, Any]]],
) -> None:
    load_on = {
        row["reference"]: row["load_on"].date()
        if not isinstance(row["load_on"], str)
        else date(*map(int, reversed(row["load_on"].split("/"))))
        for row in book["Jobs"]
    }
    coming = [reference for reference, day in load_on.items() if day >= COMMITTED_FOR]
    assert len(coming) == 26
    assert max(load_on.values()) <= COMMITTED_FOR + timedelta(days=45)
    assert {reference[:2] for reference in coming} == {"QB", "OM"}


def test_crews_priorities_a_set_and_coupled_lines_are_written_down(
    book: dict[str, list[dict[str, Any]]],
) -> None:
    crews = {(row["depot"], row["crew"]) for row in book["Jobs"]}
    assert Counter(depot for depot, _crew in crews) == {"Quillby": 2, "Ostermere": 2}
    assert sum(row["priority"] is not None for row in book["Jobs"]) == 3
    assert sorted(row["kind"] for row in book["Items"] if row["set"]) == ["bag", "bag tube"]
    assert [row["line"] for row in book["Arrangements"] if row["assembly"]] == [
        "bagging heads",
        "noses",
        "bases",
    ]
    assert [row["instead"] for row in book["Arrangements"] if row["instead"]] == ["pressure recorder"]
    assert {(row["from"], row["to"]) for row in book["Ways"]} == {
        ("Quillby", "Ostermere"),
        ("Ostermere", "Quillby"),
    }


def test_a_thousand_records_tell_a_history(book: dict[str, list[dict[str, Any]]]) -> None:
    verdicts: dict[tuple[str, str], list[str]] = defaultdict(list)
    for row in book["Inspections"]:
        verdicts[row["tag"], row["check"]].append(row["verdict"])
    for row in book["Hold tests"]:
        drop = row["start_pressure"] - row["end_pressure"]  # against 0.01 bar with a guard of 0.002 bar
        verdict = "pass" if drop < 0.008 else "fail" if drop > 0.012 else "doubt"
        verdicts[row["tag"], row["check"]].append(verdict)
    assert len(book["Inspections"]) + len(book["Hold tests"]) >= 1000
    assert sum(listed[-1] == "fail" for listed in verdicts.values()) >= 5
    assert sum(listed[-1] == "doubt" for listed in verdicts.values()) >= 2
    assert sum("fail" in listed and listed[-1] == "pass" for listed in verdicts.values()) >= 20
    anchored = {(row["kind"], row["check"]) for row in book["Checks"] if row["basis"] == "anchor"}
    kinds = {row["tag"]: row["kind"] for row in book["Items"]}
    assert any((kinds[tag], check) in anchored and len(each) >= 3 for (tag, check), each in verdicts.items())


def test_use_by_dates_are_written_in_every_way_that_people_do(book: dict[str, list[dict[str, Any]]]) -> None:
    ways = {
        "day text": r"\d\d/\d\d/\d{4}",
        "month text": r"\d\d/\d{4}",
        "iso month": r"\d{4}-\d\d",
        "gs1": r"\d{4}00",
        "quarter": r"[1-4]/\d\d",
        "real date": r"\d{4}-\d\d-\d\d 00:00:00",
    }
    cells = [str(row["use_by"]) for row in book["Items"] if row["use_by"] is not None]
    seen = {way: sum(bool(re.fullmatch(form, cell)) for cell in cells) for way, form in ways.items()}
    assert min(seen.values()) >= 3, seen
    assert sum(seen.values()) == len(cells)
    assert {
        type(row["use_by"]) for row in book["Items"] if re.fullmatch(ways["gs1"], str(row["use_by"]))
    } == {
        int,
        str,
    }


def test_the_same_day_gives_the_same_file_whatever_was_drawn_before() -> None:
    first = build(date(2027, 5, 4))
    factory.random.reseed_random(99)
    state = factory.random.get_random_state()
    assert build(date(2027, 5, 4)) == first
    assert factory.random.get_random_state() == state


def test_the_committed_workbook_is_what_the_script_makes_for_its_day(
    book: dict[str, list[dict[str, Any]]],
) -> None:
    assert f"{COMMITTED_FOR:%-d %B %Y}" in (FIXTURES / "README.md").read_text(encoding="utf-8")
    assert sheets((FIXTURES / "two_depots.xlsx").read_bytes()) == book


def test_the_bench_books_have_readings_and_a_gauge_that_was_found_out(
    book: dict[str, list[dict[str, Any]]],
) -> None:
    assert len(book["Hold tests"]) >= 300
    gauges = Counter(row["gauge"] for row in book["Hold tests"])
    assert set(gauges) <= {row["gauge"] for row in book["Calibrations"]}
    worst = defaultdict(float)
    for row in book["Calibrations"]:
        calibration = row["gauge"], str(row["done_on"])
        worst[calibration] = max(worst[calibration], abs(row["as_found"] - row["reference"]))
    # Class 1.6 of 0.4 bar (EN 837-1).
    found_out = {gauge for (gauge, _), error in worst.items() if error > 0.0064 + 0.0006}
    assert found_out & set(gauges)


@pytest.mark.django_db
def test_what_the_gauge_found_out_puts_in_doubt_is_under_review(tmp_path: Path) -> None:
    path = tmp_path / "two_depots.xlsx"
    path.write_bytes(build(timezone.localdate()))
    assert load_register(path, Who("s.fen", "test")).loaded
    newest = Review.objects.order_by("-until")[0]
    flipped = [one for one in newest.records.select_related("inspection") if one.flips]
    assert newest.records.count() >= 8
    assert 1 <= len(flipped) < newest.records.count()


@pytest.mark.django_db
def test_loading_it_twice_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "two_depots.xlsx"
    path.write_bytes(build(timezone.localdate()))
    first = load_register(path, Who("s.fen", "test"))
    assert first.loaded
    assert not first.faults
    assert not first.warnings
    entries = LedgerEntry.objects.count()
    again = load_register(path, Who("s.fen", "test"))
    assert (again.loaded, again.count("new"), again.count("changed")) == (True, 0, 0)
    assert again.count("unchanged") == len(first.rows)
    assert LedgerEntry.objects.count() == entries


def script(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "demo_fixtures.make_workbook", *arguments]
    return subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False)


def test_the_script_writes_the_file_it_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "made.xlsx"
    assert script("--day", "2028-02-29", "-o", str(path)).returncode == 0
    assert path.read_bytes() == build(date(2028, 2, 29))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--day", "2027-02-30"), "not a date"),
        (("--day", "2027-02-28", "-o", "no/such/folder.xlsx"), "cannot be"),
    ],
)
def test_the_script_says_what_is_wrong(arguments: tuple[str, ...], said: str) -> None:
    ran = script(*arguments)
    assert ran.returncode == 2
    assert said in ran.stderr
    assert "Traceback" not in ran.stderr
