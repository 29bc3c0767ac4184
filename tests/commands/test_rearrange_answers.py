"""`rearrange` as a planner or a program calls it: what it prints, what it promises, its exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kit.models import Deed, LedgerEntry, Reservation, Standing
from tests.commands.registers import COMPLETE, SHORT, command_workbook
from tests.commands.running import run

pytestmark = pytest.mark.django_db


@pytest.fixture
def loaded(tmp_path: Path) -> None:
    said = run("load_register", str(command_workbook(tmp_path)))
    assert said.code == 0, said.err


def test_json_has_what_the_contract_says(loaded: None) -> None:
    said = run("rearrange", "--format", "json")
    told = json.loads(said.out)
    assert set(told) == {"objective", "proven", "gap", "jobs"}
    assert set(told["objective"]) == {"jobs_short", "pieces_short", "changes"}
    assert told["proven"] is True
    assert told["gap"] == 0.0
    names = [job["job"] for job in told["jobs"]]
    assert names.index(COMPLETE) < names.index(SHORT)
    for job in told["jobs"]:
        assert set(job) == {"job", "changed", "lines"}
        for line in job["lines"]:
            assert set(line) in ({"line", "tags", "short"}, {"line", "lots", "short"})
    short = {job["job"] for job in told["jobs"] if any(line["short"] for line in job["lines"])}
    assert SHORT in short
    assert told["objective"]["jobs_short"] == len(short)
    assert told["objective"]["pieces_short"] == sum(
        line["short"] for job in told["jobs"] for line in job["lines"]
    )
    assert said.code == 1
    assert Reservation.objects.count() == 0


def test_text_says_what_comes_and_what_is_short(loaded: None) -> None:
    said = run("rearrange")
    assert said.code == 1
    assert "Proven: no other plan is better." in said.out
    assert f"{SHORT} at NY" in said.out
    assert "comes " in said.out
    assert "short of " in said.out


def test_applied_it_promises_what_it_said(loaded: None) -> None:
    said = run("rearrange", "--apply", "--format", "json")
    assert said.code == 1
    assert "Applied:" in said.err
    told = json.loads(said.out)
    for job in told["jobs"]:
        for line in job["lines"]:
            rows = Reservation.objects.filter(
                job__reference=job["job"], line__name=line["line"], standing=Standing.PROMISED
            )
            if "tags" in line:
                assert sorted(rows.values_list("item__tag", flat=True)) == line["tags"]
            else:
                got = [
                    {"lot": lot, "quantity": quantity}
                    for lot, quantity in rows.order_by("item__tag").values_list("item__tag", "quantity")
                ]
                assert got == line["lots"]
    assert LedgerEntry.objects.filter(deed=Deed.REARRANGED).exists()
    again = run("rearrange", "--format", "json")
    assert json.loads(again.out)["objective"] == told["objective"] | {"changes": 0}


def test_nothing_to_arrange_is_an_answer() -> None:
    said = run("rearrange", "--format", "json")
    assert said.code == 0
    assert said.json["jobs"] == []


def test_what_it_does_not_know_is_bad_input() -> None:
    assert run("rearrange", "--format", "xml").code == 2
