"""One fault put into made-up readings: which cell is spoilt, and what then stands there."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta
from typing import Any, NamedTuple

from tests.recount.bench_made_up import BenchMadeUp
from tests.recount.bench_register import STEPS, UNITS, in_steps
from tests.recount.made_up import Row
from tests.recount.readings import convert, exact, in_calibration
from tests.recount.rows import read_date


class Spoilt(NamedTuple):
    """The cell that must be named; `row` counts from the heading's row 1, as a spreadsheet does."""

    sheet: str
    row: int
    column: str
    value: str | None


Fault = Callable[[BenchMadeUp], Spoilt | None]
FAULTS: dict[str, Fault] = {}  # by name; None where the register has no row that suits


def rows_of(made: BenchMadeUp, sheet: str, suits: Callable[[Row], Any]) -> list[int]:
    return [place for place, row in enumerate(made.sheets.get(sheet, [])) if suits(row)]


def spoil(made: BenchMadeUp, sheet: str, places: Iterable[int], column: str, value: Any) -> Spoilt | None:
    """Spoil this column of one of the rows; a value that is called is called with the row, None if it cannot be."""
    places = list(places)
    if not places:
        return None
    place = made.dice.choice(places)
    row = made.sheets[sheet][place]
    if callable(value):
        value = value(row)
    made.sheets[sheet][place] = {**row, column: value}
    return Spoilt(sheet, place + 2, column, None if value is None else str(value))


def cell(
    sheet: str, column: str, *values: Any, suits: Callable[[Row], Any] = bool, name: str | None = None
) -> None:
    """A fault for each of these values in that column."""
    for value in values:

        def put_in(made: BenchMadeUp, value: Any = value) -> Spoilt | None:
            return spoil(made, sheet, rows_of(made, sheet, suits), column, value)

        FAULTS[f"{sheet}: {name or f'{column} {value}'}"] = put_in


def fault(name: str) -> Callable[[Fault], Fault]:
    def keep(put_in: Fault) -> Fault:
        FAULTS[name] = put_in
        return put_in

    return keep


def is_hold_test(row: Row) -> bool:
    return row.get("method") == "hold test"


def is_calibration(row: Row) -> bool:
    return row.get("method") == "calibration"


DAYS = ("31/02/2026", "2026-03", "29/02/2025", "lately", None)

cell("Hold tests", "tag", "nobody's tag", None)
cell("Hold tests", "check", "unheard-of check", None)
cell("Hold tests", "done_on", *DAYS)
cell("Hold tests", "start_pressure", "much", -0.1, None)
cell("Hold tests", "end_pressure", "some", -0.01, None)
cell("Hold tests", "unit", "atm", "Pa", None)
cell("Hold tests", "minutes", "long", -5, None)
cell("Hold tests", "gauge", "nobody's gauge", None)
cell("Hold tests", "gauge", lambda row: row["tag"], name="read on itself")
cell("Hold tests", "start_c", "warm", -300, suits=lambda row: row.get("start_c") is not None)
cell("Hold tests", "end_c", "cold", -300, None, suits=lambda row: row.get("end_c") is not None)
cell("Calibrations", "gauge", "nobody's gauge", None)
cell("Calibrations", "check", "unheard-of check", None)
cell("Calibrations", "done_on", *DAYS)
cell("Calibrations", "direction", "sideways", None)
cell("Calibrations", "reference", "high", -0.1, None)
cell("Calibrations", "as_found", "well")
cell("Calibrations", "as_left", "mended")
cell("Calibrations", "unit", "atm", "Pa", None)
cell("Checks", "method", "by eye", suits=is_hold_test)
cell("Checks", "unit", "atm", None, suits=lambda row: is_hold_test(row) or is_calibration(row))
cell("Checks", "max_pressure", "high", -1, suits=is_hold_test)
cell("Checks", "max_drop", "little", -0.1, None, suits=is_hold_test)
cell("Checks", "hold_minutes", "long", -5, suits=is_hold_test)
cell("Checks", "guard", "some", -0.1, suits=lambda row: is_hold_test(row) or is_calibration(row))
cell("Checks", "accuracy_class", "fine", -1, None, suits=is_calibration)
cell("Checks", "span", "wide", -1, 0, None, suits=is_calibration)


@fault("Hold tests: done tomorrow")
def _(made: BenchMadeUp) -> Spoilt | None:
    tomorrow = (made.today + timedelta(days=1)).isoformat()
    return spoil(made, "Hold tests", rows_of(made, "Hold tests", bool), "done_on", tomorrow)


@fault("Calibrations: done tomorrow")
def _(made: BenchMadeUp) -> Spoilt | None:
    tomorrow = (made.today + timedelta(days=1)).isoformat()
    return spoil(made, "Calibrations", rows_of(made, "Calibrations", bool), "done_on", tomorrow)


@fault("Hold tests: not held long enough")
def _(made: BenchMadeUp) -> Spoilt | None:
    def too_short(row: Row) -> float:
        return float(hold_check_of(made, row)["hold_minutes"]) - 0.5

    return spoil(made, "Hold tests", rows_of(made, "Hold tests", bool), "minutes", too_short)


@fault("Hold tests: begun above the greatest pressure")
def _(made: BenchMadeUp) -> Spoilt | None:
    def too_high(row: Row) -> float:
        check = hold_check_of(made, row)
        most = convert(exact(check["max_pressure"]), check["unit"], row["unit"])
        start = in_steps(most, row["unit"])
        return float(start if exact(start) > most else start + STEPS[row["unit"]])

    return spoil(made, "Hold tests", rows_of(made, "Hold tests", bool), "start_pressure", too_high)


@fault("Hold tests: a check of another method")
def _(made: BenchMadeUp) -> Spoilt | None:
    plain = {row["kind"] for row in made.sheets["Checks"] if row.get("check") == "visual"}
    places = rows_of(made, "Hold tests", lambda row: kind_of(made, row["tag"]) in plain)
    return spoil(made, "Hold tests", places, "check", "visual")


@fault("Calibrations: a check of another method")
def _(made: BenchMadeUp) -> Spoilt | None:
    has_zero = any(row["check"] == "zero" for row in made.sheets["Checks"])
    return spoil(made, "Calibrations", rows_of(made, "Calibrations", lambda _: has_zero), "check", "zero")


@fault("Hold tests: gauge out of calibration on that day")
def _(made: BenchMadeUp) -> Spoilt | None:
    gauges = [row["tag"] for row in made.sheets["Items"] if row["kind"] == "gauge"]

    def gauges_out(row: Row) -> list[str]:
        day = read_date(row["done_on"])
        assert day
        return [tag for tag in gauges if not in_calibration(made.bench, tag, day)]

    places = rows_of(made, "Hold tests", gauges_out)
    return spoil(made, "Hold tests", places, "gauge", lambda row: made.dice.choice(gauges_out(row)))


@fault("Calibrations: a point twice")
def _(made: BenchMadeUp) -> Spoilt | None:
    rows = made.sheets.get("Calibrations", [])
    if not rows:
        return None
    rows.append(dict(made.dice.choice(rows)))
    return Spoilt("Calibrations", len(rows) + 1, "reference", str(rows[-1]["reference"]))


@fault("Calibrations: two units in one")
def _(made: BenchMadeUp) -> Spoilt | None:
    rows = made.sheets.get("Calibrations", [])
    if not rows:
        return None
    first = made.dice.choice(rows)
    unit = made.dice.choice([unit for unit in UNITS if unit != first["unit"]])
    # A point that none of them has, and that any dial has.
    rows.append({**first, "unit": unit, "reference": 0.0123, "as_found": 0.0123})
    return Spoilt("Calibrations", len(rows) + 1, "unit", unit)


def kind_of(made: BenchMadeUp, tag: str) -> str:
    return next(row["kind"] for row in made.sheets["Items"] if row["tag"] == tag)


def hold_check_of(made: BenchMadeUp, row: Row) -> Row:
    kind = kind_of(made, row["tag"])
    return next(
        check
        for check in made.sheets["Checks"]
        if (check["kind"], check.get("check")) == (kind, row["check"])
    )
