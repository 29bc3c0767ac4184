"""Sets of items, and sides, assemblies and substitutes of arrangements: loaded, loaded again, every bad cell named."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from kit.models import Arrangement, Deed, Item, LedgerEntry
from kit.stores import Instead, LineSpec, Who, acting, bind_set, lose, prove_ledger, set_arrangement, specs_of
from tests.kit.workbooks.depot_book import HEADINGS, Book, counts, depot_book, dump, loaded
from tests.kit.workbooks.loading_again import again, changed, told_of

pytestmark = pytest.mark.django_db

WHO = Who("p.lane", "test")


def book() -> Book:
    made = depot_book()
    made.headings["Items"] = (*HEADINGS["Items"], "set")
    made.headings["Arrangements"] = (*HEADINGS["Arrangements"], "side", "assembly", "instead")
    return made


def with_sets(**names: str) -> Book:
    made = book()
    for tag, name in names.items():
        made.row("Items", tag=tag.replace("_", "-"))["set"] = name
    return made


def sets() -> dict[str, str]:
    return dict(Item.objects.exclude(set_name="").order_by("tag").values_list("tag", "set_name"))


def bound() -> list[str]:
    entries = LedgerEntry.objects.filter(deed=Deed.BOUND).order_by("number")
    return [json.loads(entry.body)["note"] for entry in entries]


def faults(made: Book, tmp_path: Path) -> list[tuple[str, int | None, str | None, str]]:
    """Of a file that must not change anything."""
    before = dump()
    report = loaded(made.xlsx(tmp_path / "faulty.xlsx"))
    assert not report.loaded
    assert dump() == before
    return [(fault.sheet, fault.row, fault.column, fault.why) for fault in report.faults]


def test_sets_are_made_up_by_the_action_and_loading_again_changes_nothing(tmp_path: Path) -> None:
    made = with_sets(NY_B1="Weir set", NY_S1="weir  SET")
    report = again(made, tmp_path)
    assert [row for row in changed(report) if row[0] == "Items"] == []
    assert sets() == {"NY-B1": "Weir set", "NY-S1": "Weir set"}
    assert bound() == ["set Weir set made up of NY-B1, NY-S1: the register loaded (again.xlsx)"]
    assert prove_ledger().fault is None


def test_a_blank_column_is_as_no_column(tmp_path: Path) -> None:
    report = loaded(depot_book().xlsx(tmp_path / "plain.xlsx"))
    assert report.loaded
    before = dump()
    report = loaded(book().xlsx(tmp_path / "blank.xlsx"))
    assert (report.loaded, counts(report)[:2]) == (True, (0, 0))
    assert dump() == before


def test_changed_sets_are_told_and_a_sheet_without_the_column_leaves_them(tmp_path: Path) -> None:
    again(
        with_sets(NY_B1="Weir set", NY_B2="Weir set", NY_S1="Weir set", NY_B5="Pair", NY_B6="Pair"), tmp_path
    )
    report = loaded(depot_book().xlsx(tmp_path / "plain.xlsx"))
    assert counts(report)[:2] == (0, 0)
    report = again(with_sets(NY_B1="Weir set", NY_B2="Weir set", NY_S1="Pair", NY_B5="Pair"), tmp_path)
    assert changed(report) == [("Items", "NY-B6", "set"), ("Items", "NY-S1", "set")]
    assert sets() == {"NY-B1": "Weir set", "NY-B2": "Weir set", "NY-B5": "Pair", "NY-S1": "Pair"}
    assert told_of("NY-S1")[0] == Deed.BOUND
    report = again(book(), tmp_path)
    assert sets() == {}
    assert len(changed(report)) == 4
    assert prove_ledger().fault is None


def test_two_sets_may_exchange_pieces(tmp_path: Path) -> None:
    again(with_sets(NY_B1="A", NY_B2="A", NY_B3="B", NY_B4="B"), tmp_path)
    again(with_sets(NY_B1="A", NY_B3="A", NY_B2="B", NY_B4="B"), tmp_path)
    assert sets() == {"NY-B1": "A", "NY-B2": "B", "NY-B3": "A", "NY-B4": "B"}


def test_every_bad_set_is_named(tmp_path: Path) -> None:
    again(with_sets(NY_B5="Pair", NY_B6="Pair"), tmp_path)
    with acting(WHO) as act:
        lose(act, Item.objects.get(tag="NY-S3"), "not on its rack")
    made = with_sets(
        NY_B1="Alone", NY_B2="Far", MB_G1="Far", LOT_7="Lot", NY_S3="Trio", NY_S1="Trio", NY_S2="Trio"
    )
    made.row("Items", tag="NY-B5")["set"] = "Pair"
    made.row("Items", tag="NY-B6")["set"] = "Pair"
    made.row("Items", tag="NY-B6")["depot"] = "MB"
    made.row("Items", tag="NY-B6")["place"] = None
    found = faults(made, tmp_path)
    by_row = {row: (column, why) for _sheet, row, column, why in found}
    rows = {row["tag"]: number for number, row in enumerate(made.rows["Items"], 2)}
    assert len(found) == 6
    assert by_row[rows["NY-B1"]] == (
        "set",
        "NY-B1 would be the only piece of the set Alone at NY, and a set holds two pieces of one depot or more: give "
        "the others the same name, or leave the cell empty.",
    )
    assert by_row[rows["NY-B2"]][0] == by_row[rows["MB-G1"]][0] == "set"
    assert "A seal is counted in lots" in by_row[rows["LOT-7"]][1]
    assert "NY-S3 is lost, and a set is made up of pieces in use" in by_row[rows["NY-S3"]][1]
    column, why = by_row[rows["NY-B6"]]
    assert column == "depot"
    assert "goes to MB together or stays at NY: move NY-B5 as well" in why


def test_a_whole_set_moves_and_a_row_with_another_fault_is_not_reported_twice(tmp_path: Path) -> None:
    again(with_sets(NY_B5="Pair", NY_B6="Pair"), tmp_path)
    made = with_sets(NY_B5="Pair", NY_B6="Pair")
    for tag in ("NY-B5", "NY-B6"):
        made.row("Items", tag=tag).update(depot="MB", place=None)
    again(made, tmp_path)
    assert set(Item.objects.filter(set_name="Pair").values_list("depot__code", flat=True)) == {"MB"}
    made = with_sets(NY_B1="New", NY_B2="New")
    made.row("Items", tag="NY-B2")["kind"] = "bagg"
    assert [column for _sheet, _row, column, _why in faults(made, tmp_path)] == ["kind"]


def test_what_the_action_refuses_is_named_at_the_cell(tmp_path: Path) -> None:
    again(book(), tmp_path)
    Item.objects.filter(tag="NY-B2").update(custody="on-site")
    [(sheet, row, column, why)] = faults(with_sets(NY_B1="Weir", NY_B2="Weir"), tmp_path)
    assert (sheet, row, column) == ("Items", 2, "set")
    assert "NY-B2 is on site: take it back before it is made up into the set Weir" in why


def lines(*rows: dict[str, Any]) -> Book:
    made = book()
    for row in rows:
        made.add("Arrangements", arrangement="new stop", **row)
    return made


HEADS = {"line": "heads", "kind": "bagging head", "quantity": 2, "assembly": "Head unit"}
BASES = {"line": "bases", "kind": "base", "quantity": 2, "match": "mark", "assembly": "head UNIT"}
BAGS = {
    "line": "bags",
    "kind": "bag",
    "quantity": 4,
    "match": "bore",
    "side": "Far",
    "instead": "nose; pump ;",
}


def test_lines_take_side_assembly_and_substitutes(tmp_path: Path) -> None:
    again(lines(BAGS, HEADS, BASES), tmp_path)
    stop = Arrangement.objects.get(name="new stop", current=True)
    bags, heads, bases = specs_of(stop)
    assert (bags.side, [other.kind.name for other in bags.instead]) == ("far", ["nose", "pump"])
    assert heads.assembly == bases.assembly == "Head unit"
    report = again(lines({**BAGS, "instead": "pump; nose"}, HEADS, BASES), tmp_path)
    assert changed(report) == [("Arrangements", "new stop: bags", "")]
    assert prove_ledger().fault is None


def test_a_sheet_without_the_columns_and_notes_of_the_register_stay(tmp_path: Path) -> None:
    again(lines(BAGS, HEADS, BASES), tmp_path)
    with acting(WHO) as act:
        bags, heads, bases = specs_of(Arrangement.objects.get(name="new stop", current=True))
        noted = tuple(Instead(other.kind, f"note on {other.kind}") for other in bags.instead)
        bags = LineSpec(bags.name, bags.kind, 4, bags.match, side=bags.side, instead=noted)
        set_arrangement(act, "new stop", [bags, heads, bases])
    report = loaded(lines(BAGS, HEADS, BASES).xlsx(tmp_path / "same.xlsx"))
    assert counts(report)[:2] == (0, 0)
    older = lines(BAGS, HEADS, BASES).without_columns("Arrangements", "side", "assembly", "instead")
    report = loaded(older.xlsx(tmp_path / "older.xlsx"))
    assert counts(report)[:2] == (0, 0)
    older.row("Arrangements", arrangement="new stop", line="bags")["quantity"] = 5
    report = again(older, tmp_path)
    kept = specs_of(Arrangement.objects.get(name="new stop", current=True))
    assert kept[0].quantity == 5
    assert kept[0].instead == noted
    assert kept[1].assembly == "Head unit"


def test_every_bad_cell_of_a_line_is_named(tmp_path: Path) -> None:
    made = lines(
        {**BAGS, "side": "left"},
        {"line": "spare bags", "kind": "bag", "quantity": 1, "instead": "bag"},
        {"line": "more bags", "kind": "bag", "quantity": 1, "instead": "nose; bagg; pomp"},
        {"line": "tubes", "kind": "bag tube", "quantity": 1, "instead": "seal"},
        {**HEADS, "assembly": "alone"},
        {"line": "hand tools", "kind": "hand tool", "quantity": 2, "assembly": "tools"},
        {"line": "pumps", "kind": "pump", "quantity": 3, "assembly": "tools"},
    )
    first = len(made.rows["Arrangements"]) + 1 - 6
    found = {row - first: (column, why) for _sheet, row, column, why in faults(made, tmp_path) if row}
    assert {place: column for place, (column, _why) in found.items()} == {
        0: "side",
        1: "instead",
        2: "instead",
        3: "instead",
    }
    assert "bags asks for a bag already" in found[1][1]
    assert "There is no kind bagg. Did you mean bag?" in found[2][1]
    assert "seal is counted in lots and bag tube is single pieces" in found[3][1]
    for place in (0, 1, 2, 3):
        row = made.rows["Arrangements"][first - 2 + place]
        row.update(side=None, instead=None)
    found = {row - first: (column, why) for _sheet, row, column, why in faults(made, tmp_path) if row}
    assert {place: column for place, (column, _why) in found.items()} == {4: "assembly", 6: "assembly"}
    assert "heads is the only line of the assembly alone" in found[4][1]
    assert "2 × hand tools, 3 × pumps" in found[6][1]


def test_a_set_bound_on_screen_is_known_to_the_workbook(tmp_path: Path) -> None:
    again(book(), tmp_path)
    with acting(WHO) as act:
        pieces = Item.objects.filter(tag__in=["NY-B1", "NY-B2"])
        bind_set(act, "Weir set", list(pieces), "mounted")
    report = again(with_sets(NY_B1="weir set", NY_B2="Weir Set", NY_B3="WEIR SET"), tmp_path)
    assert changed(report) == [("Items", "NY-B3", "set")]
    assert sets() == dict.fromkeys(["NY-B1", "NY-B2", "NY-B3"], "Weir set")
