"""Readings judged once more, from the design page alone: hold tests, calibrations, what a gauge puts in doubt.

All arithmetic is in whole fractions, so that a reading that stands exactly on a limit is judged as standing on it.
Pressures are gauge pressures in the unit that was read; temperatures are read in degrees Celsius.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from tests.recount.reference import due_of
from tests.recount.rows import Check, Record, Register, read_date

PASCALS = {
    "bar": Fraction(100_000),
    "mbar": Fraction(100),
    "kPa": Fraction(1_000),
    # The pound (0.45359237 kg) and the inch (25.4 mm) are exact by the international agreement of 1959, standard
    # gravity (9.80665 m/s2) by the 3rd CGPM: tests/published compares the factor with pint's.
    "psi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
}
AMBIENT_BAR = Fraction("1.01325")
ZERO_C_IN_KELVIN = Fraction("273.15")


def exact(cell: Any) -> Fraction:
    """The number that a person reads in the cell: 0.1 is a tenth, whatever a spreadsheet stores for it."""
    return Fraction(str(cell).strip())


def convert(pressure: Fraction, unit: str, into: str) -> Fraction:
    return pressure * PASCALS[unit] / PASCALS[into]


@dataclass(frozen=True)
class Limits:
    """What a check says of its readings, in `unit`; what it leaves blank is None, a blank guard 0."""

    method: str
    unit: str
    max_pressure: Fraction | None
    max_drop: Fraction | None
    hold_minutes: Fraction
    guard: Fraction
    accuracy_class: Fraction | None
    span: Fraction | None

    @property
    def permissible(self) -> Fraction:
        """The permissible error in the check's unit: the class is per cent of the span (EN 837-1)."""
        assert self.accuracy_class is not None
        assert self.span is not None
        return self.accuracy_class * self.span / 100


@dataclass(frozen=True)
class HoldTest:
    tag: str
    check: str
    done_on: date
    start: Fraction
    end: Fraction
    unit: str
    minutes: Fraction
    start_c: Fraction | None
    end_c: Fraction | None
    gauge: str


@dataclass(frozen=True)
class Point:
    direction: str
    reference: Fraction
    as_found: Fraction
    as_left: Fraction | None


@dataclass
class Calibration:
    """The points of one gauge, check and day, in the order of their rows."""

    gauge: str
    check: str
    done_on: date
    unit: str
    points: list[Point] = field(default_factory=list)


@dataclass
class Bench:
    """The readings beside the register that they belong to; `limits` by kind and check."""

    register: Register
    limits: dict[tuple[str, str], Limits] = field(default_factory=dict)
    hold_tests: list[HoldTest] = field(default_factory=list)
    calibrations: list[Calibration] = field(default_factory=list)
    plain: list[tuple[str, str, date, str]] = field(
        default_factory=list
    )  # tag, check, day, verdict: no readings
    promised: set[tuple[str, str]] = field(default_factory=set)  # job and tag

    def limits_of(self, tag: str, check: str) -> Limits:
        return self.limits[self.register.items[tag].kind, check]


# Reading the rows ---------------------------------------------------------------------------------------------------


def _maybe(cell: Any) -> Fraction | None:
    return None if cell is None else exact(cell)


def _day(cell: Any) -> date:
    day = read_date(cell)
    assert day
    return day


def limits_of_row(row: dict[str, Any]) -> Limits:
    return Limits(
        row.get("method") or "plain",
        row.get("unit") or "",
        _maybe(row.get("max_pressure")),
        _maybe(row.get("max_drop")),
        exact(row.get("hold_minutes") or 0),
        exact(row.get("guard") or 0),
        _maybe(row.get("accuracy_class")),
        _maybe(row.get("span")),
    )


def hold_test_of_row(row: dict[str, Any]) -> HoldTest:
    return HoldTest(
        row["tag"],
        row["check"],
        _day(row["done_on"]),
        exact(row["start_pressure"]),
        exact(row["end_pressure"]),
        row["unit"],
        exact(row["minutes"]),
        _maybe(row.get("start_c")),
        _maybe(row.get("end_c")),
        row["gauge"],
    )


def calibrations_of_rows(rows: Iterable[dict[str, Any]]) -> list[Calibration]:
    found: dict[tuple[str, str, date], Calibration] = {}
    for row in rows:
        key = (row["gauge"], row["check"], _day(row["done_on"]))
        calibration = found.setdefault(key, Calibration(*key, row["unit"]))
        calibration.points.append(
            Point(
                row["direction"],
                exact(row["reference"]),
                exact(row["as_found"]),
                _maybe(row.get("as_left")),
            )
        )
    return list(found.values())


def take_readings(bench: Bench, sheets: dict[str, list[dict[str, Any]]]) -> None:
    """Take the readings of these sheets up: each is a record of its check, and decides when that is next due."""
    for row in sheets.get("Checks", []):
        if row.get("check") is not None:
            bench.limits[row["kind"], row["check"]] = limits_of_row(row)
    for row in sheets.get("Inspections", []):
        bench.plain.append((row["tag"], row["check"], _day(row["done_on"]), row["verdict"]))
    for calibration in calibrations_of_rows(sheets.get("Calibrations", [])):
        bench.calibrations.append(calibration)
        verdict = verdict_from_then_on(bench, calibration)
        bench.register.records.append(
            Record(calibration.gauge, calibration.check, calibration.done_on, verdict)
        )
    for row in sheets.get("Hold tests", []):
        test = hold_test_of_row(row)
        bench.hold_tests.append(test)
        bench.register.records.append(
            Record(test.tag, test.check, test.done_on, judge_hold_test(bench, test))
        )
    bench.register.dues.clear()


# Hold tests ---------------------------------------------------------------------------------------------------------


def drop_of(test: HoldTest, start: Fraction, end: Fraction) -> Fraction:
    """The drop in the unit that was read, brought back to the temperature at the start."""
    ambient = convert(AMBIENT_BAR, "bar", test.unit)
    warming = Fraction(1)
    if test.start_c is not None and test.end_c is not None:
        warming = (test.start_c + ZERO_C_IN_KELVIN) / (test.end_c + ZERO_C_IN_KELVIN)
    return start - (end + ambient) * warming + ambient


def judge_drop(drop: Fraction, max_drop: Fraction, guard: Fraction) -> str:
    if drop <= max_drop - guard:
        return "pass"
    return "fail" if drop > max_drop + guard else "doubt"


def limit_of(bench: Bench, test: HoldTest) -> Fraction:
    """The greatest drop allowed, in the unit that was read."""
    limits = bench.limits_of(test.tag, test.check)
    assert limits.max_drop is not None
    return convert(limits.max_drop, limits.unit, test.unit)


def judge_hold_test(
    bench: Bench, test: HoldTest, start: Fraction | None = None, end: Fraction | None = None
) -> str:
    """The verdict; with `start` and `end` as it would be had those been read."""
    limits = bench.limits_of(test.tag, test.check)
    drop = drop_of(test, test.start if start is None else start, test.end if end is None else end)
    return judge_drop(drop, limit_of(bench, test), convert(limits.guard, limits.unit, test.unit))


def in_calibration(bench: Bench, gauge: str, day: date) -> bool:
    """Whether each calibration of the gauge was done by that day, left it usable and is in date on that day."""
    item = bench.register.items[gauge]
    for check in bench.register.checks.get(item.kind, []):
        limits = bench.limits.get((item.kind, check.name))
        if limits and limits.method == "calibration" and not _holds_on(bench, gauge, check, day):
            return False
    return True


def _holds_on(bench: Bench, gauge: str, check: Check, day: date) -> bool:
    due = due_of(bench.register, bench.register.items[gauge], check, day)
    return due.due_on is not None and not due.failed and due.due_on >= day


# Calibrations -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Errors:
    """What a gauge showed, in the unit that was read; `hysteresis` is None where no point was read both ways."""

    max_error: Fraction
    hysteresis: Fraction | None
    permissible: Fraction
    guard: Fraction

    @property
    def verdict(self) -> str:
        if self.max_error - self.guard > self.permissible or (self.hysteresis or 0) > self.permissible:
            return "fail"
        return "pass" if self.max_error + self.guard <= self.permissible else "doubt"


def errors_of(bench: Bench, calibration: Calibration, left: bool = False) -> Errors:
    """The errors as found, or as left."""
    limits = bench.limits_of(calibration.gauge, calibration.check)
    readings = {}
    for point in calibration.points:
        indicated = point.as_left if left else point.as_found
        if indicated is not None:
            readings[point.reference, point.direction] = indicated
    both = [
        abs(readings[reference, "down"] - readings[reference, "up"])
        for reference, direction in readings
        if direction == "up" and (reference, "down") in readings
    ]
    return Errors(
        max(abs(indicated - reference) for (reference, _), indicated in readings.items()),
        max(both, default=None),
        convert(limits.permissible, limits.unit, calibration.unit),
        convert(limits.guard, limits.unit, calibration.unit),
    )


def verdict_as_found(bench: Bench, calibration: Calibration) -> str:
    return errors_of(bench, calibration).verdict


def verdict_from_then_on(bench: Bench, calibration: Calibration) -> str:
    """As left, where that was read: it decides whether the gauge may be used."""
    left = any(point.as_left is not None for point in calibration.points)
    return errors_of(bench, calibration, left).verdict
