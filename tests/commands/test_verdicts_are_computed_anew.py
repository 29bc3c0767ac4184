"""`verdicts`: what is stored comes out again from the readings; what was altered behind the program's back does not."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from inspections.actions import record_answers
from inspections.models import Inspection
from kit import guards
from tests.commands.running import run
from tests.inspections.bench import bench, calibrate, check, day, do, held, hold, item, points
from tests.inspections.workbooks.bench_book import bench_book
from tests.kit.workbooks.depot_book import dump, loaded

pytestmark = pytest.mark.django_db


@pytest.fixture
def records() -> None:
    bench()
    wrong = hold("B-1", held(end="0.19"), ago=3)
    hold("B-1", held(end="0.1988"), ago=3, corrects=wrong)
    hold("B-2", held("3", "2.5", "psi", start_c="21.5", end_c="18"))
    calibrate("G-NEW", points(("up", "0.3", "0.33", "0.301"), ("down", "0.3", "0.32", "0.3")), ago=5)
    texts = {"length_mm": "1000.5", "marks": "yes"}
    do(record_answers, item("C-1"), check("chain set", "examination"), texts, day(2))


def alter(tag: str, **columns: Any) -> None:
    """Change columns of the last record of an item past the program and the database's own guard."""
    pk = Inspection.objects.filter(item__tag=tag).latest("pk").pk
    with connection.cursor() as cursor:
        guards.unprotect(cursor.execute, connection.vendor, "inspections_inspection")
        for name, value in columns.items():
            cursor.execute(f"UPDATE inspections_inspection SET {name} = %s WHERE id = %s", [value, pk])
        guards.protect(cursor.execute, connection.vendor, "inspections_inspection")


def test_the_json_is_to_the_letter_and_the_same_as_stored(records: None) -> None:
    before = dump()
    said = run("verdicts", "--format", "json")
    assert (said.code, said.err) == (0, "")
    assert list(said.json) == ["verdicts"]
    got = said.json["verdicts"]
    assert all(list(one) == ["tag", "check", "done_on", "verdict", "stored", "figures", "why"] for one in got)
    assert [(one["tag"], one["check"], one["verdict"]) for one in got] == [
        ("B-1", "hold test", "doubt"),
        ("B-1", "hold test", "pass"),
        ("B-2", "hold test", "fail"),
        ("C-1", "examination", "fail"),
        ("G-NEW", "calibration", "fail"),
    ]
    # What stands, and what it corrects: both are evidence. A drop of 0.2 - 0.1988 against 0.01 bar.
    assert got[1] == {
        "tag": "B-1",
        "check": "hold test",
        "done_on": day(3).isoformat(),
        "verdict": "pass",
        "stored": "pass",
        "figures": {"drop": 0.0012, "limit": 0.01, "unit": "bar"},
        "why": got[1]["why"],
    }
    assert got[4]["figures"] == {"max_error": 0.03, "permissible": 0.0096, "hysteresis": 0.01, "unit": "bar"}
    assert got[3]["figures"] == {"length_mm": 1000.5}
    for one, row in zip(
        got, Inspection.objects.exclude(readings={}).order_by("item__tag", "pk"), strict=True
    ):
        assert (one["stored"], one["figures"], one["why"]) == (row.verdict, row.figures, row.why)
    assert dump() == before


def test_text_for_a_person_and_one_item_alone(records: None) -> None:
    said = run("verdicts", "--tag", "G-NEW")
    assert (said.code, said.err) == (0, "")
    first, line, last = said.out.splitlines()
    assert (first, last) == ("Verdicts computed anew: 1", "Differing from what is stored: 0")
    assert line.split()[:2] == ["G-NEW", "calibration"]
    assert "fail, as left pass: Greatest error as found 0.03 bar high" in line
    assert [one["tag"] for one in run("verdicts", "--tag", "B-1", "--format", "json").json["verdicts"]] == [
        "B-1",
        "B-1",
    ]


def test_an_unknown_tag_is_bad_input(records: None) -> None:
    said = run("verdicts", "--tag", "B-11", "--format", "json")
    assert (said.code, said.out) == (2, "")
    assert "There is no item B-11 in the register. Did you mean B-1?" in said.err
    assert run("verdicts", "--tag", "S-1", "--format", "json").json == {"verdicts": []}


@pytest.mark.parametrize(
    ("tag", "columns", "sentence"),
    [
        ("B-2", {"verdict": "pass"}, "verdict stored pass, computed fail"),
        ("G-NEW", {"as_left": "fail"}, "verdict as left stored fail, computed pass"),
        ("G-NEW", {"as_left": ""}, "verdict as left stored none, computed pass"),
        ("C-1", {"figures": json.dumps({"length_mm": 999})}, 'figures stored {"length_mm": 999}, computed'),
        (
            "B-2",
            {"readings": json.dumps({"method": "hold test", "test": held("3", "2.99", "psi").to_json()})},
            "verdict stored fail, computed pass; figures stored",
        ),
        (
            "B-2",
            {"readings": json.dumps({"method": "hold test"})},
            "it cannot be computed: its readings lack 'test'.",
        ),
        (
            "B-2",
            {"readings": json.dumps({"method": "scent"})},
            "it cannot be computed: readings of the method",
        ),
        ("B-2", {"version_id": None}, "it cannot be computed: no rule is kept with it"),
        (
            "C-1",
            {"readings": json.dumps({"method": "form", "answers": {"marks": "yes"}})},
            "Length is not answered",
        ),
    ],
)
def test_what_was_altered_is_found_and_named(
    records: None, tag: str, columns: dict[str, Any], sentence: str
) -> None:
    alter(tag, **columns)
    said = run("verdicts", "--format", "json")
    assert said.code == 1
    [line] = said.err.splitlines()
    assert line.startswith(f"{tag}, ")
    assert sentence in line
    assert len(said.json["verdicts"]) == 5
    text = run("verdicts", "--tag", tag)
    assert text.code == 1
    assert "DIFFERS" in text.out
    assert run("verdicts", "--tag", "B-1").code == 0


def test_what_a_workbook_brought_comes_out_the_same_whatever_the_limits_are_today(tmp_path: Path) -> None:
    book = bench_book()
    assert loaded(book.xlsx(tmp_path / "bench.xlsx")).loaded
    book.row("Checks", check="hold test", unit="bar")["max_drop"] = 0.001
    assert loaded(book.csv(tmp_path / "checks.csv", "Checks")).loaded
    said = run("verdicts", "--format", "json")
    assert (said.code, said.err) == (0, "")
    assert [(one["tag"], one["verdict"]) for one in said.json["verdicts"]] == [
        ("B-1", "pass"),
        ("B-2", "doubt"),
        ("B-3", "fail"),
        ("G-1", "pass"),
    ]
