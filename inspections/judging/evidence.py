"""Whether a hold test may count as evidence: what is refused of it, and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from inspections.judging.decision import JudgingFault, exactly
from inspections.judging.hold_test import HoldLimits, HoldTest, LimitRead
from inspections.judging.stored import Stored
from inspections.judging.units import PASCALS, Unit, written

GaugeState = Literal[
    "in calibration", "out of calibration", "not to be used", "unknown", "the item itself", "missing"
]

# A yard on a winter night to a bag in the sun: outside these a key was slipped on (common practice, no source).
_COLDEST_C, _HOTTEST_C = -60, 80
# Outside these a barometer was not read in bar: about 5,500 m up, and the highest ever read (from memory).
_THINNEST_BAR, _THICKEST_BAR = Decimal("0.5"), Decimal("1.1")
# Round figures of one pressure in two units, such as 0.2 bar and 3 psi, lie a few per cent apart.
_ROUND_FIGURES_DIFFER = Fraction("1.05")


@dataclass(frozen=True, slots=True)
class GaugeStanding(Stored):
    """How the gauge of a test stood on the day of the test. `tag` as written, "" if none was.

    `since`: the first day it was out of calibration; None while it is in, or if it never was calibrated.
    `why`: the sentence that says why it is not to be used.
    """

    tag: str
    state: GaugeState
    since: date | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Refusal(Stored):
    """Why a test is no evidence: `field` is the heading of the column of `Hold tests`, `text` a sentence."""

    field: str
    text: str


def refusals(test: HoldTest, limits: HoldLimits, gauge: GaugeStanding) -> tuple[Refusal, ...]:
    """Everything for which `test` is no evidence, in the order of the columns; empty if it is evidence.

    A limit that the check does not have refuses nothing.
    """
    found: list[Refusal] = []
    found.extend(_of_pressures(test, limits))
    found.extend(_of_minutes(test, limits))
    found.extend(_of_temperatures(test))
    found.extend(_of_ambient(test))
    found.extend(_of_gauge(gauge))
    return tuple(found)


def gauge_refusals(gauge: GaugeStanding) -> tuple[Refusal, ...]:
    """Why nothing that was read on this gauge is evidence; empty if it may be relied on."""
    return tuple(_of_gauge(gauge))


def _of_pressures(test: HoldTest, limits: HoldLimits) -> Iterator[Refusal]:
    if test.unit not in PASCALS:
        yield Refusal("unit", f"{test.unit!r} is not a unit used here; write bar, mbar, kPa or psi.")
        return
    for name in ("start_pressure", "end_pressure"):
        value: Decimal = getattr(test, name)
        unusable = _unusable(value, name)
        if unusable is not None:
            yield unusable
        elif value < 0:
            yield Refusal(
                name, f"{written(value)} {test.unit} is below zero; write the pressure above that outside."
            )
        elif name == "start_pressure":
            limit = limits.limit_in("max_pressure", test.unit)
            if limit is not None and exactly(value) > limit.value:
                yield Refusal(name, _too_high(value, test.unit, limit, limits))


def _too_high(value: Decimal, unit: Unit, limit: LimitRead, limits: HoldLimits) -> str:
    meant = _unit_that_fits(value, unit, limits)
    mend = f"was it read in {meant}?" if meant else "test again at or below it."
    return f"The start pressure of {written(value)} {unit} is more than {limit.words}: {mend}"


def _unit_that_fits(value: Decimal, unit: Unit, limits: HoldLimits) -> Unit | None:
    """The largest smaller unit in which `value` would keep the greatest pressure, or nearly; None if none."""
    for other in sorted(PASCALS, key=PASCALS.__getitem__, reverse=True):
        limit = limits.limit_in("max_pressure", other)
        if PASCALS[other] < PASCALS[unit] and limit and value <= limit.value * _ROUND_FIGURES_DIFFER:
            return other
    return None


def _of_minutes(test: HoldTest, limits: HoldLimits) -> Iterator[Refusal]:
    unusable = _unusable(test.minutes, "minutes")
    if unusable is not None:
        yield unusable
    elif test.minutes <= 0:
        yield Refusal("minutes", f"Held {written(test.minutes)} minutes; write a time above zero.")
    elif limits.hold_minutes is not None and test.minutes < limits.hold_minutes:
        yield Refusal(
            "minutes",
            f"Held {written(test.minutes)} minutes, but this check asks for {written(limits.hold_minutes)}; "
            "hold it again for the full time.",
        )


def _of_temperatures(test: HoldTest) -> Iterator[Refusal]:
    for name, celsius, other in (("start_c", test.start_c, test.end_c), ("end_c", test.end_c, test.start_c)):
        if celsius is None:
            if other is not None:
                yield Refusal(name, f"{name} is empty; write both temperatures, or neither.")
            continue
        unusable = _unusable(celsius, name)
        if unusable is not None:
            yield unusable
        elif celsius <= Decimal("-273.15"):
            yield Refusal(name, f"{written(celsius)} °C is at or below absolute zero, -273.15 °C.")
        elif not _COLDEST_C <= celsius <= _HOTTEST_C:
            yield Refusal(
                name,
                f"{written(celsius)} °C is outside {_COLDEST_C} to {_HOTTEST_C} °C, surely a slip of the key.",
            )


def _of_ambient(test: HoldTest) -> Iterator[Refusal]:
    if test.ambient_bar is None:
        return
    unusable = _unusable(test.ambient_bar, "ambient_bar")
    if unusable is not None:
        yield unusable
    elif not _THINNEST_BAR <= test.ambient_bar <= _THICKEST_BAR:
        yield Refusal(
            "ambient_bar",
            f"{written(test.ambient_bar)} bar is no pressure of the air outside; "
            "write what the barometer says in bar, about 1.",
        )


def _of_gauge(gauge: GaugeStanding) -> Iterator[Refusal]:
    if gauge.state == "missing":
        yield Refusal("gauge", "No gauge is named; write the tag of the gauge that was read.")
    elif gauge.state == "unknown":
        yield Refusal(
            "gauge", f"{gauge.tag} is no gauge in the register; check the tag, or take the gauge in first."
        )
    elif gauge.state == "the item itself":
        yield Refusal("gauge", f"{gauge.tag} is the item under test; write the gauge it was tested with.")
    elif gauge.state == "not to be used":
        yield Refusal("gauge", gauge.why)
    elif gauge.state == "out of calibration":
        since = (
            f"was out of calibration on that day, since {gauge.since.isoformat()}"
            if gauge.since
            else "had no calibration on record by that day"
        )
        yield Refusal("gauge", f"Gauge {gauge.tag} {since}; test again with a gauge in calibration.")


def _unusable(value: Decimal, name: str) -> Refusal | None:
    try:
        exactly(value, name)
    except JudgingFault as fault:
        return Refusal(name, str(fault))
    return None
