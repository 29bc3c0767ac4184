"""A sound workbook is loaded whole; the same one again, in any form, or a dry run, writes nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kit.models import Deed, Item, LedgerEntry
from kit.stores import prove_ledger
from tests.commands.running import run
from tests.kit.workbooks.depot_book import Book, counts, depot_book, dump, in_days, loaded

pytestmark = pytest.mark.django_db

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "register.xlsx"


def rows_of(book: Book) -> int:
    return sum(len(rows) for rows in book.rows.values())


def test_every_row_of_a_sound_workbook_is_counted_once(tmp_path: Path) -> None:
    book = depot_book()
    report = loaded(book.xlsx(tmp_path / "depot.xlsx"))
    changed = [(row.sheet, row.row, row.key) for row in report.rows if row.outcome == "changed"]
    # Two of its checks stand in the place of shipped ones of that name; all else is new.
    assert changed == [("Checks", 3, "base: inspection"), ("Checks", 4, "gauge: calibration")]
    assert report.as_dict() == {
        "loaded": True,
        "new": rows_of(book) - 2,
        "changed": 2,
        "unchanged": 0,
        "faults": [],
        "warnings": [],
    }


def test_what_a_row_says_is_what_the_register_has(tmp_path: Path) -> None:
    loaded(depot_book().xlsx(tmp_path / "depot.xlsx"))
    bag = Item.objects.get(tag="NY-B1")
    assert (bag.kind.name, bag.maker, bag.serial, bag.batch) == ("bag", "Anvil & Sons", "S1", "L-7")
    assert (bag.depot.code, str(bag.place), bag.state) == ("NY", "Rack 2", "available")
    assert (str(bag.bore_min_mm), str(bag.bore_max_mm)) == ("150.000", "180.500")
    assert (bag.made_on, bag.use_by, bag.use_by_precision) == (in_days(-300), in_days(901), "day")
    assert bag.inspections.get().done_on == in_days(-30)
    gauge = Item.objects.get(tag="MB-G1")
    assert (gauge.use_by.isoformat(), gauge.use_by_precision, gauge.use_by_text) == (
        "2031-05-31",
        "month",
        "2031-05",
    )
    dropped = Item.objects.get(tag="MB-Q1")
    assert (dropped.state, dropped.state_why, dropped.state_by) == ("quarantined", "dropped", "p.lane")
    assert Item.objects.get(tag="LOT-7").quantity == 20


@pytest.mark.parametrize("form", ["xlsx", "ods"])
def test_the_same_again_changes_nothing_whatever_its_form(tmp_path: Path, form: str) -> None:
    book = depot_book()
    first = book.xlsx(tmp_path / "depot.xlsx") if form == "ods" else book.ods(tmp_path / "depot.ods")
    assert counts(loaded(first))[0] == rows_of(book) - 2
    before = dump()
    second = book.xlsx(tmp_path / "again.xlsx") if form == "xlsx" else book.ods(tmp_path / "again.ods")
    for path in (second, first):
        report = loaded(path)
        assert counts(report) == (0, 0, rows_of(book))
        assert (report.loaded, list(report.warnings)) == (True, [])
        assert dump() == before
    assert prove_ledger().fault is None


def test_sheet_by_sheet_as_csv_is_the_same_register_as_one_workbook(tmp_path: Path) -> None:
    book = depot_book()
    for sheet in ("Checks", "Items", "Inspections", "Arrangements", "Jobs"):
        report = loaded(book.csv(tmp_path / f"{sheet}.csv", sheet))
        assert (report.loaded, report.as_dict()["faults"]) == (True, [])
    before = dump()
    report = loaded(book.xlsx(tmp_path / "depot.xlsx"))
    assert counts(report) == (0, 0, rows_of(book))
    assert dump() == before


def test_the_example_again_changes_nothing() -> None:
    first = run("load_register", str(EXAMPLE), "--format", "json").json
    before = dump()
    again = run("load_register", str(EXAMPLE), "--format", "json")
    assert again.code == 0
    assert again.json["unchanged"] == first["new"] + first["changed"] + first["unchanged"]
    assert (again.json["new"], again.json["changed"]) == (0, 0)
    assert dump() == before


def test_a_dry_run_gives_the_same_counts_and_writes_nothing(tmp_path: Path) -> None:
    book = depot_book()
    path = book.xlsx(tmp_path / "depot.xlsx")
    before = dump()
    dry = run("load_register", str(path), "--dry-run", "--format", "json")
    assert (dry.code, dry.err) == (0, "")
    assert dump() == before
    wet = run("load_register", str(path), "--format", "json")
    assert dry.json == {**wet.json, "loaded": False}
    assert wet.json["loaded"] is True

    book.row("Items", tag="NY-B2")["mark"] = "II"
    book.row("Jobs", reference="J-2")["return_on"] = in_days(25)
    book.add("Inspections", tag="NY-S3", check="inspection", done_on=in_days(-1), verdict="fail")
    changed = book.xlsx(tmp_path / "changed.xlsx")
    before = dump()
    dry = run("load_register", str(changed), "--dry-run", "--format", "json")
    assert dump() == before
    assert (dry.json["new"], dry.json["changed"]) == (1, 2)
    assert dry.json == {**run("load_register", str(changed), "--format", "json").json, "loaded": False}


def test_a_dry_run_of_a_faulty_file_names_the_faults(tmp_path: Path) -> None:
    book = depot_book()
    book.row("Items", tag="NY-B2")["use_by"] = "31/02/2027"
    path = book.xlsx(tmp_path / "depot.xlsx")
    before = dump()
    dry = run("load_register", str(path), "--dry-run", "--format", "json")
    assert (dry.code, len(dry.json["faults"])) == (2, 1)
    assert dry.json == run("load_register", str(path), "--format", "json").json
    assert dump() == before


def test_the_ledger_tells_which_file_was_loaded_and_that_nothing_came_of_it_is_not_told(
    tmp_path: Path,
) -> None:
    path = depot_book().xlsx(tmp_path / "depot.xlsx")
    loaded(path)
    [entry] = LedgerEntry.objects.filter(deed=Deed.LOADED)
    body = json.loads(entry.body)
    assert (entry.actor, body["about"]) == ("p.lane", ["file:depot.xlsx"])
    assert body["note"] == "depot.xlsx: 28 new, 2 changed, 0 unchanged"
    assert len(body["facts"]["sha256"]) == 64
    loaded(path)
    assert LedgerEntry.objects.filter(deed=Deed.LOADED).count() == 1


def test_text_for_a_person(tmp_path: Path) -> None:
    path = depot_book().xlsx(tmp_path / "depot.xlsx")
    dry = run("load_register", str(path), "--dry-run")
    assert dry.out == f"{path} would load: 28 new, 2 changed, 0 unchanged\n"
    assert run("load_register", str(path)).out == f"{path} loaded: 28 new, 2 changed, 0 unchanged\n"
    assert run("load_register", str(path)).out == f"{path} loaded: 0 new, 0 changed, 30 unchanged\n"


def test_the_actor_is_named_by_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FETTLEBOOK_ACTOR", "h.weir")
    run("load_register", str(depot_book().xlsx(tmp_path / "depot.xlsx")))
    last = LedgerEntry.objects.latest("number")
    assert (last.actor, last.source) == ("h.weir", "command load_register")
