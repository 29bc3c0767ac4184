"""A depot's register of a size that a real one has, as a workbook: the same on every run of one day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from openpyxl import Workbook

from kit.workbooks.sheets import SHEET_BY_NAME

ITEMS, INSPECTIONS, JOBS = 5_000, 20_000, 25
DEPOTS = ("NY", "MB")
SIZES = ((75, 95), (95, 120), (150, 185), (180, 220), (220, 270))
# kind, its check, months, share of a hundred items
KINDS = (
    ("bag", "hold test and visual", 6, 40),
    ("bag tube", "inspection", 12, 15),
    ("control head", "inspection", 12, 10),
    ("bagging head", "inspection", 12, 8),
    ("base", "inspection", 12, 10),
    ("gauge", "calibration", 12, 7),
    ("gas detector", "calibration", 6, 5),
    ("chain set", "thorough examination", 6, 5),
)


def kind_of(number: int) -> tuple[str, str, int, int]:
    share = number % 100
    for kind in KINDS:
        if share < kind[3]:
            return kind
        share -= kind[3]
    raise AssertionError("the shares come to a hundred")


def items(today: date, count: int) -> Iterator[list[object]]:
    for number in range(count):
        kind = kind_of(number)[0]
        low, high = SIZES[number % 5] if kind == "bag" else (None, None)
        yield [
            f"{kind[:3].upper()}-{number:05}",
            kind,
            ("Anvil & Sons", "Plumb Ltd", "Weir Works")[number % 3],
            f"S{number:06}",
            f"L{number // 50}" if kind == "bag" else None,
            low,
            high,
            ("M3", "M5", "M7")[number % 3] if kind in ("base", "bagging head") else None,
            today - timedelta(days=900 + number % 700),
            today + timedelta(days=number % 1500 - 40) if kind == "bag" else None,
            DEPOTS[number % 2],
            f"Rack {number % 40}",
            "quarantined" if number % 97 == 0 else "available",
            None,
            "set aside at the count" if number % 97 == 0 else None,
        ]


def inspections(today: date, count: int, records: int) -> Iterator[list[object]]:
    """The records of each item, half a year apart, the latest up to ten months ago."""
    each = records // count
    for number in range(count):
        kind, check, *_ = kind_of(number)
        for back in range(each):
            yield [
                f"{kind[:3].upper()}-{number:05}",
                check,
                today - timedelta(days=182 * (each - 1 - back) + 1 + number % 300),
                "fail" if number % 211 == 0 and back == each - 1 else "pass",
                ("A. Bench", "T. Rigg")[number % 2],
                f"C-{number:05}-{back}",
                None,
            ]


def write_register(path: Path, today: date, count: int = ITEMS, records: int = INSPECTIONS) -> Path:
    """Write it with openpyxl row by row; sheets Items, Inspections, Arrangements and Jobs."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Items")
    sheet.append(SHEET_BY_NAME["Items"].column_names)
    for row in items(today, count):
        sheet.append(row)
    sheet = book.create_sheet("Inspections")
    sheet.append(SHEET_BY_NAME["Inspections"].column_names)
    for row in inspections(today, count, records):
        sheet.append(row)
    sheet = book.create_sheet("Arrangements")
    sheet.append(["arrangement", "line", "kind", "quantity", "match"])
    for line, kind, quantity, match in (
        ("bags", "bag", 5, "bore"),
        ("tubes", "bag tube", 5, "any"),
        ("control heads", "control head", 5, "any"),
        ("bagging heads", "bagging head", 2, "mark"),
        ("bases", "base", 3, "mark"),
        ("gauges", "gauge", 2, "any"),
        ("gas detector", "gas detector", 1, "any"),
        ("chains", "chain set", 2, "any"),
    ):
        sheet.append(["bench stop", line, kind, quantity, match])
    sheet = book.create_sheet("Jobs")
    sheet.append(["reference", "depot", "load_on", "return_on", "bore_mm", "base_mark", "arrangement"])
    for number in range(JOBS):
        load_on = today + timedelta(days=number)
        sheet.append(
            [
                f"B-{number}",
                DEPOTS[number % 2],
                load_on,
                load_on + timedelta(days=4),
                159.6,
                "M3",
                "bench stop",
            ]
        )
    book.save(path)
    return path
