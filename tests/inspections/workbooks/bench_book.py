"""A depot's bench records as a workbook in the making: limits, gauges with their calibrations, hold tests."""

from __future__ import annotations

from typing import Any

from kit.workbooks.sheets import SHEETS
from tests.kit.workbooks.depot_book import Book, in_days

HEADINGS = {sheet.name: sheet.column_names for sheet in SHEETS}
HOLD_TEST: dict[str, Any] = {
    "tag": "B-1",
    "check": "hold test",
    "done_on": in_days(-10),
    "start_pressure": 0.2,
    "end_pressure": 0.195,
    "unit": "bar",
    "minutes": 5,
    "gauge": "G-1",
    "by": "A. Bench",
}
POINT: dict[str, Any] = {
    "gauge": "G-1",
    "check": "calibration",
    "done_on": in_days(-100),
    "direction": "up",
    "unit": "bar",
    "by": "Test House",
}
# Class 1.6 of 0.6 bar: 0.0096 bar is permissible (EN 837-1, from memory: the class is % of the span).
CURVE = (("up", 0, 0.001), ("up", 0.3, 0.302), ("up", 0.6, 0.605), ("down", 0.3, 0.304), ("down", 0, 0.002))


def bench_book() -> Book:
    """Bags B-1 to B-3, gauges G-1 (calibrated by points) and G-2 (by certificate), three hold tests: no fault."""
    book = Book(headings=dict(HEADINGS))
    book.add(
        "Checks",
        kind="bag",
        check="hold test",
        interval="P6M",
        method="hold test",
        unit="bar",
        max_pressure=0.2,
        max_drop=0.01,
        hold_minutes=5,
        guard=0.002,
    )
    book.add(
        "Checks",
        kind="bag",
        check="hold test",
        interval="P6M",
        unit="psi",
        max_pressure=3,
        max_drop=0.15,
        guard=0.03,
    )
    book.add("Checks", kind="bag", check="visual", interval="P6M", gates="no")
    book.add(
        "Checks",
        kind="gauge",
        check="calibration",
        interval="P12M",
        method="calibration",
        unit="bar",
        accuracy_class=1.6,
        span=0.6,
    )
    for tag in ("B-1", "B-2", "B-3"):
        book.add("Items", tag=tag, kind="bag", serial=tag, depot="NY")
    for tag in ("G-1", "G-2", "G-3"):
        book.add("Items", tag=tag, kind="gauge", serial=tag, depot="NY")
    book.add("Items", tag="S-1", kind="base", depot="NY")
    book.add(
        "Inspections",
        tag="G-2",
        check="calibration",
        done_on=in_days(-50),
        verdict="pass",
        certificate="C-2",
    )
    for direction, reference, shown in CURVE:
        book.add(
            "Calibrations", **{**POINT, "direction": direction, "reference": reference, "as_found": shown}
        )
    book.add("Hold tests", **HOLD_TEST)
    book.add("Hold tests", **{**HOLD_TEST, "tag": "B-2", "end_pressure": 0.19, "gauge": "G-2"})
    book.add(
        "Hold tests",
        **{**HOLD_TEST, "tag": "B-3", "start_pressure": 3, "end_pressure": 2.8, "unit": "psi", "by": None},
    )
    return book
