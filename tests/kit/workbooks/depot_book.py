"""A small depot's register as a workbook in the making, and what a load of it did: for tests of loading."""

from __future__ import annotations

import csv
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any, Self

from django.db import connection
from django.utils import timezone
from openpyxl import Workbook

from kit.stores import Who
from kit.workbooks.loading import LoadReport, load_register
from tests.kit.workbooks.files import ods, ods_rows, set_error, xlsx

WHO = Who("p.lane", "test")
HEADINGS: dict[str, tuple[str, ...]] = {
    "Kinds": (
        "kind",
        "counted",
        "bore",
        "mark",
        "turn_round_days",
        "margin_days",
        "maker",
        "short_date",
    ),
    "Checks": ("kind", "check", "interval", "basis", "early_days", "gates", "source"),
    "Items": (
        "tag",
        "kind",
        "maker",
        "serial",
        "batch",
        "bore_min_mm",
        "bore_max_mm",
        "mark",
        "made_on",
        "use_by",
        "depot",
        "place",
        "state",
        "quantity",
        "note",
    ),
    "Inspections": ("tag", "check", "done_on", "verdict", "by", "certificate", "note"),
    "Arrangements": ("arrangement", "line", "kind", "quantity", "match", "note"),
    "Jobs": (
        "reference",
        "depot",
        "site",
        "load_on",
        "return_on",
        "main_material",
        "main_size",
        "main_sdr",
        "bore_mm",
        "base_mark",
        "arrangement",
    ),
}


@dataclass(frozen=True, slots=True)
class Broken:
    """A cell that holds an error, such as #REF!."""

    error: str


def in_days(days: int) -> date:
    """That many days from the register's day."""
    return timezone.localdate() + timedelta(days=days)


@dataclass
class Book:
    """Rows by sheet; a sheet is written once it was named. Row numbers are those a spreadsheet shows."""

    headings: dict[str, tuple[str, ...]] = field(default_factory=lambda: dict(HEADINGS))
    rows: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    changes: list[Callable[[Workbook], None]] = field(default_factory=list)

    def add(self, sheet: str, **cells: Any) -> int:
        """Add a row and give its number."""
        unknown = set(cells) - set(self.headings[sheet])
        assert not unknown, f"{sheet} has no columns {unknown} in this book"
        self.rows.setdefault(sheet, []).append(cells)
        return len(self.rows[sheet]) + 1

    def without_columns(self, sheet: str, *columns: str) -> Self:
        self.headings[sheet] = tuple(name for name in self.headings[sheet] if name not in columns)
        return self

    def row(self, sheet: str, **key: Any) -> dict[str, Any]:
        """The one row with these cells, to be changed in place."""
        [found] = [row for row in self.rows[sheet] if key.items() <= row.items()]
        return found

    def table(self, sheet: str) -> list[list[Any]]:
        names = self.headings[sheet]
        return [list(names), *([row.get(name) for name in names] for row in self.rows[sheet])]

    def xlsx(self, path: Path) -> Path:
        broken: list[tuple[str, int, int, str]] = []
        sheets: dict[str, list[list[Any]]] = {}
        for sheet in self.rows:
            sheets[sheet] = self.table(sheet)
            for number, row in enumerate(sheets[sheet], 1):
                for place, cell in enumerate(row, 1):
                    if isinstance(cell, Broken):
                        broken.append((sheet, number, place, cell.error))
                        row[place - 1] = None

        def change(book: Workbook) -> None:
            for sheet, number, place, error in broken:
                set_error(book[sheet], book[sheet].cell(number, place).coordinate, error)
            for one in self.changes:
                one(book)

        return xlsx(path, sheets, change)

    def ods(self, path: Path) -> Path:
        return ods(path, {sheet: ods_rows(self.table(sheet)) for sheet in self.rows})

    def csv(self, path: Path, sheet: str) -> Path:
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(self.table(sheet))
        return path


def depot_book() -> Book:
    """Two depots, kit of several kinds with its checks and records, an arrangement and two jobs: no fault in it."""
    book = Book()
    for kind, check, interval in (
        ("bag", "hold test", "P6M"),
        ("base", "inspection", "P12M"),
        ("gauge", "calibration", "P12M"),
    ):
        book.add(
            "Checks", kind=kind, check=check, interval=interval, basis="done", gates="yes", source="made up"
        )
    for number in range(1, 7):
        tag = f"NY-B{number}"
        book.add(
            "Items",
            tag=tag,
            kind="bag",
            maker="Anvil & Sons",
            serial=f"S{number}",
            batch="L-7",
            bore_min_mm=150,
            bore_max_mm=180.5,
            made_on=in_days(-300),
            use_by=in_days(900 + number),
            depot="NY",
            place="Rack 2",
            state="available",
        )
        book.add(
            "Inspections", tag=tag, check="hold test", done_on=in_days(-30), verdict="pass", by="A. Bench"
        )
    for number, mark in ((1, "M3"), (2, "M3"), (3, "M7")):
        tag = f"NY-S{number}"
        book.add("Items", tag=tag, kind="base", serial=number, mark=mark, depot="NY", place="Cage 1")
        book.add("Inspections", tag=tag, check="inspection", done_on=in_days(-60), verdict="pass")
    book.add("Items", tag="MB-G1", kind="gauge", maker="Plumb Ltd", serial="77", depot="MB", use_by="2031-05")
    book.add("Inspections", tag="MB-G1", check="calibration", done_on=in_days(-500), verdict="pass")
    book.add("Items", tag="MB-Q1", kind="gauge", serial="78", depot="MB", state="quarantined", note="dropped")
    book.add("Items", tag="LOT-7", kind="seal", batch="7", depot="NY", quantity=20, use_by=in_days(400))
    for line, kind, quantity, match in (
        ("bags", "bag", 3, "bore"),
        ("bases", "base", 2, "mark"),
        ("seals", "seal", 6, None),
    ):
        book.add(
            "Arrangements", arrangement="short stop", line=line, kind=kind, quantity=quantity, match=match
        )
    for reference, load, back in (("J-1", 5, 9), ("J-2", 20, 22)):
        book.add(
            "Jobs",
            reference=reference,
            depot="NY",
            site="Weir Lane",
            load_on=in_days(load),
            return_on=in_days(back),
            bore_mm=159.6,
            base_mark="M3",
            arrangement="short stop",
        )
    return book


def loaded(path: Path, *, dry_run: bool = False) -> LoadReport:
    """Load by the function; gives its report."""
    return load_register(path, WHO, dry_run=dry_run)


def dump() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table as stored, ledger included."""
    found = {}
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            rows = (tuple(plain(value) for value in row) for row in cursor.fetchall())
            found[table] = sorted(rows, key=repr)
    return found


def plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, (date, datetime)) else value


def counts(report: LoadReport) -> tuple[int, int, int]:
    return report.count("new"), report.count("changed"), report.count("unchanged")
