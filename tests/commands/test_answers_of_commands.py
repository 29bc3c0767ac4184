"""What the commands answer when all is well: exit codes, shapes of JSON, and files in every format."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import pytest
from django.db import connection
from openpyxl import load_workbook
from pypdf import PdfReader

from kit import guards
from kit.models import Item, LedgerEntry, Reservation
from tests.commands.registers import COMPLETE, SHORT, command_workbook
from tests.commands.running import run
from tests.kit.workbooks.depot_book import dump, in_days, loaded

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _register(tmp_path: Path) -> None:
    assert loaded(command_workbook(tmp_path)).loaded


# Kit list ------------------------------------------------------------------------------------------------------


def test_a_complete_kit_list_is_exit_0_and_its_json_to_the_letter() -> None:
    said = run("kit_list", COMPLETE, "--format", "json")
    assert (said.code, said.err) == (0, "")
    kit = said.json
    assert list(kit) == [
        "job",
        "as_of",
        "load_on",
        "return_on",
        "bore_mm",
        "complete",
        "lines",
        "refused",
        "also_fit",
    ]
    assert (kit["job"], kit["bore_mm"], kit["complete"]) == ("J-1", 159.6, True)
    assert (kit["as_of"], kit["load_on"], kit["return_on"]) == tuple(
        in_days(days).isoformat() for days in (0, 5, 9)
    )
    bags, bases, seals = kit["lines"]
    for line, name, kind, needed in ((bags, "bags", "bag", 3), (bases, "bases", "base", 2)):
        assert list(line) == ["line", "kind", "needed", "tags", "short", "soonest", "remedy"]
        assert (line["line"], line["kind"], line["needed"], line["short"]) == (name, kind, needed, 0)
    # All six last equally long, to their next hold test: then the first in order of tags.
    assert bags["tags"] == ["NY-B1", "NY-B2", "NY-B3"]
    assert bases["tags"] == ["NY-S1", "NY-S2"]
    assert "tags" not in seals
    assert seals["lots"] == [{"lot": "LOT-7", "quantity": 6}]
    [refused] = kit["refused"]
    assert (refused["tag"], refused["line"]) == ("NY-S3", "bases")
    assert [(list(r), r["code"], r["date"]) for r in refused["reasons"]] == [
        (["code", "date", "text"], "wrong-mark", None)
    ]
    assert kit["also_fit"] == [{"tag": f"NY-B{n}", "line": "bags"} for n in (4, 5, 6)]


def test_a_short_kit_list_is_exit_1_and_says_what_is_short() -> None:
    said = run("kit_list", SHORT, "--format", "json")
    assert said.code == 1
    [line] = said.json["lines"]
    assert (said.json["complete"], line["needed"], len(line["tags"]), line["short"]) == (False, 9, 6, 3)
    assert (line["soonest"], said.json["also_fit"]) == (None, [])
    text = run("kit_list", SHORT)
    assert text.code == 1
    assert "SHORT" in text.out
    assert "short of 3" in text.out


def test_reserving_promises_what_is_listed_and_again_changes_nothing() -> None:
    listed = run("kit_list", COMPLETE, "--format", "json").json
    reserved = run("kit_list", COMPLETE, "--reserve", "--format", "json")
    assert (reserved.code, reserved.json) == (0, listed)
    assert Reservation.objects.filter(standing="promised").count() == 6
    before = dump()
    assert run("kit_list", COMPLETE, "--reserve", "--format", "json").json == listed
    assert dump() == before
    assert run("kit_list", COMPLETE, "--format", "json").json == listed


def test_another_depots_pieces_are_looked_at_only_with_all_depots(tmp_path: Path) -> None:
    moved = tmp_path / "moved.csv"
    moved.write_text("tag,kind,depot\nNY-B6,bag,MB\n")
    assert loaded(moved).loaded
    here = run("kit_list", SHORT, "--format", "json").json
    assert here["refused"] == []
    everywhere = run("kit_list", SHORT, "--all-depots", "--format", "json").json
    assert [(r["tag"], [x["code"] for x in r["reasons"]]) for r in everywhere["refused"]] == [
        ("NY-B6", ["other-depot"])
    ]
    assert everywhere["lines"][0]["tags"] == here["lines"][0]["tags"]
    assert here["lines"][0]["short"] == 4


@pytest.mark.parametrize("form", ["text", "json", "pdf", "xlsx"])
@pytest.mark.parametrize(("job", "code"), [(COMPLETE, 0), (SHORT, 1)])
def test_every_format_to_a_file(tmp_path: Path, form: str, job: str, code: int) -> None:
    output = tmp_path / f"kit.{form}"
    said = run("kit_list", job, "--format", form, "-o", str(output))
    assert (said.code, said.out, said.err) == (code, "", f"written: {output}\n")
    if form == "pdf":
        text = "\n".join(page.extract_text() for page in PdfReader(output).pages)
        assert job in text
        assert "NY-B1" in text
    elif form == "xlsx":
        cells = {
            str(cell)
            for sheet in load_workbook(output)
            for row in sheet.values
            for cell in row
            if cell is not None
        }
        assert {"NY-B1", "NY-B6"} <= cells
    else:
        assert output.read_text() == run("kit_list", job, "--format", form).out
    assert list(tmp_path.glob(".*")) == []


# Due list ------------------------------------------------------------------------------------------------------


def test_the_due_list_as_json_to_the_letter() -> None:
    run("kit_list", COMPLETE, "--reserve")
    said = run("inspections_due", "--format", "json")
    assert (said.code, said.err) == (0, "")
    assert list(said.json) == ["as_of", "due"]
    never, overdue = said.json["due"]
    assert never == {
        "tag": "MB-Q1",
        "kind": "gauge",
        "check": "calibration",
        "last_done": None,
        "due_on": None,
        "days_over": None,
        "state": "quarantined",
        "depot": "MB",
        "job": None,
    }
    assert (overdue["tag"], overdue["last_done"]) == ("MB-G1", in_days(-500).isoformat())
    assert overdue["days_over"] == (in_days(0) - date.fromisoformat(overdue["due_on"])).days > 0
    wide = run("inspections_due", "--within", "400", "--depot", "NY", "--format", "json").json["due"]
    assert {entry["depot"] for entry in wide} == {"NY"}
    assert {entry["check"] for entry in wide} == {"hold test", "inspection", "use-by"}
    assert {entry["tag"]: entry["job"] for entry in wide}["NY-B1"] == "J-1"
    assert all(entry["days_over"] <= 0 for entry in wide)


def test_the_last_day_asked_for_is_in_the_list_and_the_next_is_not() -> None:
    use_by = 400  # of the lot of seals
    for within, there in ((use_by - 1, False), (use_by, True)):
        due = run("inspections_due", "--within", str(within), "--format", "json").json["due"]
        assert ("LOT-7" in {entry["tag"] for entry in due}) is there


def test_the_due_list_as_text_and_as_a_spreadsheet(tmp_path: Path) -> None:
    text = run("inspections_due")
    assert text.code == 0
    assert text.out.startswith(f"Due as of {in_days(0)}: 2\n")
    assert "never done" in text.out
    output = tmp_path / "due.xlsx"
    said = run("inspections_due", "--format", "xlsx", "-o", str(output))
    assert (said.code, said.out, said.err) == (0, "", f"written: {output}\n")
    book = load_workbook(io.BytesIO(output.read_bytes()))
    assert [row[0] for row in book.worksheets[1].values] == ["tag", "MB-Q1", "MB-G1"]


def test_on_a_day_before_any_record_everything_was_never_done() -> None:
    said = run("inspections_due", "--as-of", "2001-01-01", "--depot", "MB", "--format", "json")
    assert (said.code, said.json["as_of"]) == (0, "2001-01-01")
    assert [(e["tag"], e["due_on"], e["last_done"]) for e in said.json["due"]] == [
        ("MB-G1", None, None),
        ("MB-Q1", None, None),
    ]


# The ledger and what is derived --------------------------------------------------------------------------------


def test_the_ledger_proved() -> None:
    said = run("prove_ledger")
    assert (said.code, said.err) == (0, "")
    assert said.out.startswith(f"{LedgerEntry.objects.count()} entries: the chain holds")


def test_a_broken_ledger_is_exit_1_and_names_the_entry() -> None:
    with connection.cursor() as cursor:
        for table in guards.LEDGER_TABLES:
            guards.unprotect(cursor.execute, connection.vendor, table)
        cursor.execute("UPDATE kit_ledgerentry SET actor = 'q.lane' WHERE number = 5")
    said = run("prove_ledger")
    assert (said.code, said.err) == (1, "")
    assert said.out == (
        "broken: entry 5: its content does not match its hash: it was altered after it was written\n"
    )


def test_what_is_derived_anew_and_what_differs() -> None:
    said = run("rederive")
    assert (said.code, said.out) == (0, "every due date and fit_until is as derived anew\n")
    Item.objects.filter(tag="NY-B1").update(fit_until=in_days(5000))
    said = run("rederive")
    assert said.code == 1
    assert said.out.startswith(f"NY-B1: stored fit until {in_days(5000)}")
