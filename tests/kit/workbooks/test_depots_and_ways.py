"""The sheets Depots and Ways: loaded, loaded again, and every fault named at its cell."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from kit.models import Depot, DepotLink, LedgerEntry
from kit.stores import Who, acting, prove_ledger, withdraw_link
from kit.workbooks.depots_touched import depots_touched
from kit.workbooks.load_report import LoadReport
from kit.workbooks.loading import load_register

pytestmark = pytest.mark.django_db
WHO = Who("tests", "test")
Rows = list[tuple[Any, ...]]


def book(tmp_path: Path, **sheets: Rows) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    path = tmp_path / "register.xlsx"
    made.save(path)
    return path


def load(tmp_path: Path, **sheets: Rows) -> LoadReport:
    return load_register(book(tmp_path, **sheets), WHO)


DEPOTS: Rows = [("Depot", "Name", "Bench a day"), ("NY", "North yard", 6), ("MB", "Mill bank", None)]
WAYS: Rows = [("From", "To", "Lead days"), ("NY", "MB", 1), ("MB", "NY", 2)]


def ways() -> dict[tuple[str, str], int]:
    rows = DepotLink.objects.values_list("from_depot__code", "to_depot__code", "lead_days")
    return {(leaves, to): days for leaves, to, days in rows}


def test_loaded_and_loaded_again(tmp_path: Path) -> None:
    report = load(tmp_path, Depots=DEPOTS, Ways=WAYS)
    assert (report.loaded, report.count("new"), list(report.faults)) == (True, 4, [])
    assert ways() == {("NY", "MB"): 1, ("MB", "NY"): 2}
    assert list(Depot.objects.values_list("code", "name", "bench_a_day")) == [
        ("MB", "Mill bank", 0),
        ("NY", "North yard", 6),
    ]
    entries = LedgerEntry.objects.count()
    again = load(tmp_path, Depots=DEPOTS, Ways=WAYS)
    assert (again.count("new"), again.count("changed"), again.count("unchanged")) == (0, 0, 4)
    assert LedgerEntry.objects.count() == entries
    changed = load(tmp_path, Depots=[DEPOTS[0], ("NY", "", 4)], Ways=[WAYS[0], ("NY", "MB", 0)])
    assert changed.count("changed") == 2
    assert ways() == {("NY", "MB"): 0, ("MB", "NY"): 2}
    assert (Depot.objects.get(code="NY").name, Depot.objects.get(code="NY").bench_a_day) == ("North yard", 4)
    assert prove_ledger().fault is None


def test_a_way_that_was_withdrawn_is_in_use_again_when_a_workbook_gives_it(tmp_path: Path) -> None:
    load(tmp_path, Depots=DEPOTS, Ways=WAYS)
    with acting(WHO) as act:
        withdraw_link(act, Depot.objects.get(code="NY"), Depot.objects.get(code="MB"), "bridge closed")
    assert load(tmp_path, Ways=WAYS).count("changed") == 1
    assert ways() == {("NY", "MB"): 1, ("MB", "NY"): 2}


def test_a_depot_that_only_the_sheet_items_names_is_known(tmp_path: Path) -> None:
    items: Rows = [("tag", "kind", "depot"), ("P-1", "pump", "NY"), ("P-2", "pump", "MB")]
    assert load(tmp_path, Ways=WAYS, Items=items).loaded
    assert ways() == {("NY", "MB"): 1, ("MB", "NY"): 2}


@pytest.mark.parametrize(
    ("sheet", "row", "column", "why"),
    [
        ("Ways", ("NY", "MBB", 1), "to", "There is no depot MBB. Did you mean MB?"),
        ("Ways", ("NY", "NY", 1), "to", "leads from one depot to another"),
        ("Ways", ("NY", "MB", 3), "to", "Row 2 gives this way already"),
        ("Ways", ("MB", "NY", None), "lead_days", ""),
        ("Ways", ("MB", "NY", 61), "lead_days", "60"),
        ("Ways", ("MB", "NY", 1.5), "lead_days", "whole number"),
        ("Ways", (None, "NY", 1), "from", ""),
        ("Depots", ("NY", "again", 1), "depot", "Row 2 names this depot already"),
        ("Depots", ("QB", "Quill", -1), "bench_a_day", ""),
        ("Depots", (None, "Quill", 1), "depot", ""),
    ],
)
def test_every_fault_is_named_at_its_cell_and_nothing_is_written(
    tmp_path: Path, sheet: str, row: tuple[Any, ...], column: str, why: str
) -> None:
    depots, listed = list(DEPOTS), list(WAYS[:2])
    (depots if sheet == "Depots" else listed).append(row)
    report = load(tmp_path, Depots=depots, Ways=listed)
    [fault] = list(report.faults)
    assert (fault.sheet, fault.row, fault.column) == (
        sheet,
        len(depots if sheet == "Depots" else listed),
        column,
    )
    assert why in fault.why
    assert not Depot.objects.exists()


def test_both_ends_of_a_way_are_touched(tmp_path: Path) -> None:
    load(tmp_path, Depots=DEPOTS)
    path = book(tmp_path, Ways=WAYS[:2])
    assert depots_touched(path, path.name) == {"NY", "MB"}
