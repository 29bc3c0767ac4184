"""What `look_back GAUGE` says: the JSON of the design page, words that tell which verdicts flip, and exit codes."""

from __future__ import annotations

import json

import pytest

from tests.commands.running import run
from tests.inspections.bad_gauge import AFTER, UNTIL, Store, make_store


@pytest.fixture
def store(db) -> Store:
    return make_store(80, seed=11, bags=15)


def test_json_is_as_the_design_page_has_it(store: Store):
    said = run("look_back", "G-BAD", "--format", "json")
    assert (said.code, said.err) == (0, "")
    assert list(said.json) == ["gauge", "after", "until", "records", "jobs"]
    assert said.json["gauge"] == "G-BAD"
    assert said.json["after"] == store.day(AFTER).isoformat()
    assert said.json["until"] == store.day(UNTIL).isoformat()
    expected = [
        {
            "tag": row.tag,
            "check": "hold test",
            "done_on": store.day(row.days_ago).isoformat(),
            "verdict": row.verdict(),
            "rejudged": row.verdict(corrected=True),
        }
        for row in store.affected
    ]

    def as_text(records):
        return sorted(json.dumps(record, sort_keys=True) for record in records)

    assert as_text(said.json["records"]) == as_text(expected)
    assert expected
    assert set(said.json["jobs"]) == store.jobs
    days = [(record["done_on"], record["tag"]) for record in said.json["records"]]
    assert days == sorted(days)


def test_text_names_the_verdicts_that_flip(store: Store):
    said = run("look_back", "G-BAD")
    flips = [row for row in store.affected if row.start is not None and row.verdict() != row.verdict(True)]
    assert said.code == 0
    assert f"Verdicts that flip: {len(flips)}\n" in said.out
    assert flips
    for row in flips:
        said_of = f"{row.verdict()} -> {row.verdict(True).upper()}: With the gauge's error taken off"
        begins = f"  {row.tag:<20} {'hold test':<28} {store.day(row.days_ago)}  {said_of}"
        assert any(line.startswith(begins) for line in said.out.splitlines()), begins
    assert f"Gauge G-BAD failed its calibration of {store.day(UNTIL)}. Greatest error as found" in said.out


def test_a_gauge_that_never_failed_is_told_of_on_standard_error(store: Store):
    said = run("look_back", "G-1", "--format", "json")
    assert said.code == 0
    assert said.json == {"gauge": "G-1", "after": None, "until": None, "records": [], "jobs": []}
    assert "No calibration of G-1 failed as found" in said.err
    assert run("look_back", "G-1").out == ""


def test_a_slip_of_the_tag_is_told_the_nearest(store: Store):
    said = run("look_back", "G-BAT", "--format", "json")
    assert (said.code, said.out) == (2, "")
    assert "There is no item G-BAT in the register. Did you mean G-BAD?" in said.err
    assert "\n" not in said.err.strip()
