"""A register as its workbook's rows say it: read cell by cell, from the design page alone.

Dates are datetime.date, lengths Decimal mm; a lot is an item with a quantity, a single piece has quantity 1.
"""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

PE_WALLS_MM = {  # EN 1555-2 / ISO 4437-2: outside diameter -> SDR -> least wall, from memory
    "63": {"11": "5.8"},
    "90": {"11": "8.2", "17.6": "5.2"},
    "110": {"11": "10.0", "17": "6.6"},
    "125": {"11": "11.4", "17": "7.4"},
    "160": {"11": "14.6", "17": "9.5"},
    "180": {"11": "16.4", "17": "10.7"},
    "200": {"11": "18.2", "17": "11.9"},
    "225": {"11": "20.5", "17": "13.4"},
    "250": {"11": "22.7", "17": "14.8"},
    "280": {"11": "25.4", "17": "16.6"},
    "315": {"11": "28.6", "17": "18.7"},
    "355": {"11": "32.2", "17": "21.1"},
    "400": {"11": "36.3", "17": "23.7"},
    "450": {"11": "40.9", "17": "26.7"},
    "500": {"11": "45.4", "17": "29.7"},
    "630": {"11": "57.2", "17": "37.4"},
}


@dataclass
class Kind:
    name: str
    counted: bool = False
    turn_round_days: int = 0
    margin_days: int = 0


@dataclass
class Check:
    name: str
    months: int
    days: int
    anchor: bool
    early_days: int
    gates: bool


@dataclass
class Item:
    tag: str
    kind: str
    bore_min: Decimal | None
    bore_max: Decimal | None
    mark: str
    use_by: date | None
    depot: str
    state: str
    quantity: int
    sent_to: str = ""  # the depot that it is on its way to, and when it should arrive there
    arrives_on: date | None = None


@dataclass
class Record:
    tag: str
    check: str
    done_on: date
    verdict: str


@dataclass
class Line:
    name: str
    kind: str
    quantity: int
    match: str


@dataclass
class Job:
    reference: str
    depot: str
    load_on: date
    return_on: date
    bore: Decimal | None
    mark: str
    lines: list[Line]


@dataclass
class Promise:
    """`quantity` of an item for a line of a job; `out_since` the day on which it was issued, `back` once returned."""

    job: str
    line: str
    tag: str
    quantity: int
    out_since: date | None = None
    back: bool = False


@dataclass
class Due:
    """`due_on` and `last_done` are None for a check never done; `failed` if the latest verdict is no pass."""

    check: Check
    last_done: date | None
    due_on: date | None
    failed: bool


@dataclass
class Register:
    kinds: dict[str, Kind]
    checks: dict[str, list[Check]]
    items: dict[str, Item] = field(default_factory=dict)
    records: list[Record] = field(default_factory=list)
    jobs: dict[str, Job] = field(default_factory=dict)
    promises: list[Promise] = field(default_factory=list)
    rows: int = 0
    dues: dict[tuple[str, date], list[Due]] = field(default_factory=dict)  # worked out already


def last_of_month(year: int, month: int) -> date:
    return date(year, month, calendar.monthrange(year, month)[1])


def read_date(cell: Any) -> date | None:
    """A date as the design page lists them; one of month precision is the last day of its month."""
    if cell is None:
        return None
    if isinstance(cell, datetime):
        return cell.date()
    text = str(cell).strip()
    if found := re.fullmatch(r"(\d{4})-(\d{2})-(\d{2})", text):
        return date(int(found[1]), int(found[2]), int(found[3]))
    if found := re.fullmatch(r"(\d{2})/(\d{2})/(\d{4})", text):
        return date(int(found[3]), int(found[2]), int(found[1]))
    if found := re.fullmatch(r"(\d{4})-(\d{2})", text):
        return last_of_month(int(found[1]), int(found[2]))
    if found := re.fullmatch(r"(\d{2})/(\d{4})", text):
        return last_of_month(int(found[2]), int(found[1]))
    if found := re.fullmatch(r"(\d{2})(\d{2})(\d{2})", text):
        year, month, day = 2000 + int(found[1]), int(found[2]), int(found[3])
        return date(year, month, day) if day else last_of_month(year, month)
    raise ValueError(f"not a date: {cell!r}")


def read_interval(text: str) -> tuple[int, int]:
    """An ISO 8601 duration of whole years, months, weeks and days, as (months, days)."""
    found = re.fullmatch(r"P(?:(\d+)Y)?(?:(\d+)M)?(?:(\d+)W)?(?:(\d+)D)?", text)
    assert found, text
    years, months, weeks, days = (int(part or 0) for part in found.groups())
    return 12 * years + months, 7 * weeks + days


def text_of(cell: Any) -> str:
    """Text as a person reads the cell: 17 for a number that a spreadsheet keeps as 17.0."""
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return "" if cell is None else str(cell).strip()


def number_of(cell: Any) -> Decimal | None:
    return None if cell is None else Decimal(str(cell))


def bore_of(row: dict[str, Any]) -> Decimal | None:
    """The measured bore wins; else PE: outside diameter less two walls."""
    if row.get("bore_mm") is not None:
        return number_of(row["bore_mm"])
    if text_of(row.get("main_material")) != "PE":
        return None
    size, sdr = text_of(row.get("main_size")), text_of(row.get("main_sdr"))
    wall = PE_WALLS_MM.get(size, {}).get(sdr)
    return None if wall is None else Decimal(size) - 2 * Decimal(wall)


def read_register(
    sheets: dict[str, list[dict[str, Any]]], kinds: dict[str, Kind], checks: dict[str, list[Check]]
) -> Register:
    """The register that these rows make of the shipped kinds and checks, which are given."""
    register = Register(dict(kinds), {name: list(own) for name, own in checks.items()})
    register.rows = sum(len(rows) for rows in sheets.values())
    for row in sheets.get("Kinds", []):
        kind = register.kinds.setdefault(row["kind"], Kind(row["kind"]))
        if row.get("counted") is not None:
            kind.counted = row["counted"] == "yes"
        for name in ("turn_round_days", "margin_days"):
            if row.get(name) is not None:
                setattr(kind, name, int(row[name]))
    for name in {row["kind"] for row in sheets.get("Checks", [])}:
        register.checks[name] = []
    for row in sheets.get("Checks", []):
        if row.get("check") is None:
            continue
        months, days = read_interval(row["interval"])
        register.checks[row["kind"]].append(
            Check(
                row["check"],
                months,
                days,
                row.get("basis") == "anchor",
                int(row.get("early_days") or 0),
                row.get("gates") != "no",
            )
        )
    for row in sheets.get("Items", []):
        counted = register.kinds[row["kind"]].counted
        register.items[row["tag"]] = Item(
            row["tag"],
            row["kind"],
            number_of(row.get("bore_min_mm")),
            number_of(row.get("bore_max_mm")),
            text_of(row.get("mark")),
            read_date(row.get("use_by")),
            row["depot"],
            row.get("state") or "available",
            int(row["quantity"]) if counted else 1,
        )
    for row in sheets.get("Inspections", []):
        done_on = read_date(row["done_on"])
        assert done_on
        register.records.append(Record(row["tag"], row["check"], done_on, row["verdict"]))
    lines: dict[str, list[Line]] = {}
    for row in sheets.get("Arrangements", []):
        line = Line(row["line"], row["kind"], int(row["quantity"]), row.get("match") or "any")
        lines.setdefault(row["arrangement"], []).append(line)
    for row in sheets.get("Jobs", []):
        load_on, return_on = read_date(row["load_on"]), read_date(row["return_on"])
        assert load_on
        assert return_on
        register.jobs[row["reference"]] = Job(
            row["reference"],
            row["depot"],
            load_on,
            return_on,
            bore_of(row),
            text_of(row.get("base_mark")),
            lines[row["arrangement"]],
        )
    return register
