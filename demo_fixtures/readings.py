"""The bench books of both depots: what was read at hold tests of bags and at calibrations of gauges.

Records of these two checks leave the sheet Inspections for the sheets with their readings, which give the very same
verdicts when they are judged. One gauge of Ostermere was found out lately: its needle had been bent, so that it read
high low down on its dial and low in the middle, and drops that it showed were smaller than those that there were.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from demo_fixtures.dates import Cell, in_months, written
from demo_fixtures.depots import TYPES
from demo_fixtures.regimes import DIAL, HOLD
from demo_fixtures.rows import InspectionRow, ItemRow

HOLD_TEST: Final = "hold test and visual"
CALIBRATION: Final = "calibration"
GOOD_FOR_MONTHS: Final = 10  # a gauge serves so long after its calibration, well within its year
POINTS: Final = (0.0, 0.1, 0.2, 0.3, 0.4)
BENT: Final = {0.0: 0.002, 0.1: 0.026, 0.2: -0.026, 0.3: -0.019, 0.4: -0.008}
"""Errors of the bent needle in bar, by reference pressure: a drop near 0.2 bar shows at two thirds of its size."""


@dataclass(slots=True)
class HoldTestRow:
    tag: str
    check: str
    done_on: Cell
    start_pressure: float
    end_pressure: float
    unit: str
    minutes: float
    start_c: float | None
    end_c: float | None
    gauge: str
    by: str


@dataclass(slots=True)
class CalibrationRow:
    gauge: str
    check: str
    done_on: Cell
    direction: str
    reference: float
    as_found: float
    as_left: float | None
    unit: str
    by: str


@dataclass(frozen=True, slots=True)
class BenchBooks:
    """Rows of the three sheets; `inspections` are the records that have no readings."""

    inspections: list[InspectionRow]
    hold_tests: list[HoldTestRow]
    calibrations: list[CalibrationRow]


def open_books(items: Iterable[ItemRow], records: Sequence[InspectionRow], seed: int) -> BenchBooks:
    """Write the readings of all hold tests for which a gauge of the depot was in calibration, and of all calibrations.

    Draws from dice of its own, so that the rest of the workbook stays as it is.
    """
    dice = random.Random(seed)
    by_tag = {item.tag: item for item in items}
    gauges = _Gauges(by_tag, records)
    books = BenchBooks([], [], [])
    for record in records:
        item = by_tag[record.tag]
        gauge = gauges.on(item.depot, record.day, dice) if record.check == HOLD_TEST else None
        if item.kind == "gauge" and record.check == CALIBRATION:
            books.calibrations.extend(_calibration(record, dice))
        elif gauge is not None:
            books.hold_tests.append(_hold_test(record, item, gauge, dice))
        else:
            books.inspections.append(record)
    return books


class _Gauges:
    """Which gauges of a depot a bench could take on a day."""

    def __init__(self, by_tag: dict[str, ItemRow], records: Iterable[InspectionRow]) -> None:
        self.passed: dict[str, dict[str, list[date]]] = {}
        self.failed: dict[str, date] = {}
        for record in records:
            item = by_tag[record.tag]
            if item.kind != "gauge" or record.check != CALIBRATION:
                continue
            if record.verdict == "pass":
                self.passed.setdefault(item.depot, {}).setdefault(item.tag, []).append(record.day)
            else:
                self.failed[item.tag] = max(record.day, self.failed.get(item.tag, date.min))

    def on(self, depot: str, day: date, dice: random.Random) -> str | None:
        """One that was in calibration that day and had not been found out by then; None if there was none."""
        fit = [
            tag
            for tag, days in sorted(self.passed.get(depot, {}).items())
            if self.failed.get(tag, date.max) > day
            and any(done < day <= in_months(done, GOOD_FOR_MONTHS) for done in days)
        ]
        return dice.choice(fit) if fit else None


def _hold_test(record: InspectionRow, item: ItemRow, gauge: str, dice: random.Random) -> HoldTestRow:
    limit, guard = float(HOLD["max_drop"]), float(HOLD["guard"])
    drops = {
        "pass": (0.0005, limit - guard - 0.0002),
        "doubt": (limit - guard + 0.0005, limit + guard - 0.0005),
        "fail": (limit + guard + 0.001, 0.06),
    }
    drop = round(dice.uniform(*drops[record.verdict]), 4)
    return HoldTestRow(
        tag=record.tag,
        check=record.check,
        done_on=written(record.day, TYPES[item.depot]),
        start_pressure=0.2,
        end_pressure=round(0.2 - drop, 4),
        unit="bar",
        minutes=dice.choice((5, 5, 5, 6, 10)),
        start_c=None,
        end_c=None,
        gauge=gauge,
        by=record.by,
    )


def _calibration(record: InspectionRow, dice: random.Random) -> Iterator[CalibrationRow]:
    permissible = float(DIAL["span"]) * float(DIAL["accuracy_class"]) / 100
    guard = float(DIAL["guard"])
    for direction in ("up", "down"):
        for reference in POINTS if direction == "up" else reversed(POINTS):
            error = dice.uniform(-0.3, 0.3) * permissible
            if record.verdict == "fail":
                error = BENT[reference]
            elif record.verdict == "doubt" and reference == max(POINTS):
                error = permissible + dice.uniform(-0.5, 0.5) * guard
            yield CalibrationRow(
                gauge=record.tag,
                check=record.check,
                done_on=record.done_on,
                direction=direction,
                reference=reference,
                as_found=round(reference + error, 4),
                as_left=None,
                unit="bar",
                by=record.by,
            )
