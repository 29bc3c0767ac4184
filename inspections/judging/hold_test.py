"""Whether a bag, blown up and shut off, held its pressure; and whether such a test is evidence at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from inspections.judging.decision import (
    VERDICT_WORDS,
    DecisionRule,
    JudgingFault,
    applied_guard,
    exactly,
    zone,
)
from inspections.judging.records import Verdict
from inspections.judging.stored import Stored
from inspections.judging.units import AMBIENT_BAR, Unit, convert, written, written_apart

ZERO_CELSIUS_IN_KELVIN = Fraction("273.15")


@dataclass(frozen=True, slots=True)
class HoldTest(Stored):
    """The readings of one hold test: gauge pressures in `unit`, temperatures of the gas in degrees Celsius.

    `ambient_bar` is the absolute pressure outside as a barometer gave it, always in bar; None is 1.01325 bar.
    """

    start_pressure: Decimal
    end_pressure: Decimal
    unit: Unit
    minutes: Decimal
    start_c: Decimal | None = None
    end_c: Decimal | None = None
    ambient_bar: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PrintedLimits(Stored):
    """Limits printed for a further unit, in that unit; None is the check's own, converted."""

    max_pressure: Decimal | None = None
    max_drop: Decimal | None = None
    guard: Decimal | None = None


class LimitRead(NamedTuple):
    """A limit in the unit that was read, and in words which limit that is."""

    value: Fraction
    words: str


@dataclass(frozen=True, slots=True)
class HoldLimits(Stored):
    """What a check asks of a hold test, in `unit`; None where it does not say.

    Gauges have round figures on them, and 3 psi is 0.2068 bar: `other_units` holds what is printed for
    further units. Raises JudgingFault for figures below zero and for a unit that is named twice.
    """

    unit: Unit
    max_pressure: Decimal | None = None
    max_drop: Decimal | None = None
    hold_minutes: Decimal | None = None
    guard: Decimal = Decimal(0)
    rule: DecisionRule = "guarded"
    other_units: Mapping[Unit, PrintedLimits] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if self.unit in self.other_units:
            raise JudgingFault(f"The limits in {self.unit} are there twice; keep one of them.", "unit")
        applied_guard(exactly(self.guard, "guard"), self.rule)
        for name in ("max_pressure", "max_drop", "hold_minutes", "guard"):
            for limits in (self, *self.other_units.values()):
                figure = getattr(limits, name, None)
                if figure is not None and exactly(figure, name) < 0:
                    raise JudgingFault(f"The {name} is {figure}; write 0 or more.", name)

    def limit_in(self, name: Literal["max_pressure", "max_drop"], unit: Unit) -> LimitRead | None:
        """The limit for readings in `unit`: as printed for it, else converted; None if the check has none."""
        own: Decimal | None = getattr(self, name)
        printed = own if unit == self.unit else getattr(self.other_units.get(unit), name, None)
        if printed is not None:
            return LimitRead(exactly(printed), f"{written(printed)} {unit} as printed")
        if own is None:
            return None
        limit = convert(own, self.unit, unit)
        return LimitRead(limit, f"{written(own)} {self.unit} converted to {written(limit)} {unit}")

    def guard_in(self, unit: Unit) -> Fraction:
        """The guard that the rule applies, in `unit`: as printed for it, else converted; 0 if simple."""
        printed = self.other_units[unit].guard if unit in self.other_units else None
        guard = convert(self.guard, self.unit, unit) if printed is None else exactly(printed)
        return applied_guard(guard, self.rule)


@dataclass(frozen=True, slots=True)
class HoldVerdict(Stored):
    """What a hold test says: `drop`, `limit` and `guard` in `unit`, exact; a drop below zero is a rise.

    `corrected`: temperatures were recorded, and the drop is what it would be without the change of them.
    """

    verdict: Verdict
    drop: Fraction
    limit: Fraction
    guard: Fraction
    unit: Unit
    why: str
    corrected: bool

    def figures(self) -> dict[str, float | str]:
        """What the `verdicts` command shows, rounded to nine decimals."""
        return {
            "drop": round(float(self.drop), 9),
            "limit": round(float(self.limit), 9),
            "unit": self.unit,
        }


def judge_hold_test(test: HoldTest, limits: HoldLimits) -> HoldVerdict:
    """The verdict of `test`, in the unit that was read; whether it is evidence, `refusals` says.

    Raises JudgingFault if the check has no max_drop, if one temperature lacks, or if one is at or below
    absolute zero.
    """
    start = exactly(test.start_pressure, "start_pressure")
    end = exactly(test.end_pressure, "end_pressure")
    return judge_pressures(start, end, test, limits)


def judge_pressures(start: Fraction, end: Fraction, test: HoldTest, limits: HoldLimits) -> HoldVerdict:
    """As judge_hold_test, of other gauge pressures in the unit of `test`, such as corrected ones."""
    limit = limits.limit_in("max_drop", test.unit)
    if limit is None:
        raise JudgingFault(
            "This check has no max_drop, so no verdict can be worked out; "
            "write the drop it allows, or judge by hand.",
            "max_drop",
        )
    guard = limits.guard_in(test.unit)
    drop = pressure_drop(start, end, test)
    verdict = zone(drop, limit.value, guard)
    return HoldVerdict(
        verdict,
        drop,
        limit.value,
        guard,
        test.unit,
        _why(verdict, drop, limit, guard, test),
        corrected=test.start_c is not None,
    )


def pressure_drop(start: Fraction, end: Fraction, test: HoldTest) -> Fraction:
    """P1 - (P2 + Pa) x T1/T2 + Pa: what is lost when the end is taken back to the temperature of the start.

    Gauge pressures in the unit of `test`, T in kelvin; an ideal gas in a closed, rigid space. Without temperatures
    T1 = T2. Raises JudgingFault as judge_hold_test does.
    """
    if test.start_c is None and test.end_c is None:
        return start - end
    for name, celsius in (("start_c", test.start_c), ("end_c", test.end_c)):
        if celsius is None:
            raise JudgingFault(_lacking(name), name)
        if exactly(celsius, name) <= -ZERO_CELSIUS_IN_KELVIN:
            raise JudgingFault(f"{written(celsius)} °C is at or below absolute zero, -273.15 °C.", name)
    assert test.start_c is not None
    assert test.end_c is not None
    outside = convert(AMBIENT_BAR if test.ambient_bar is None else test.ambient_bar, "bar", test.unit)
    start_k = exactly(test.start_c) + ZERO_CELSIUS_IN_KELVIN
    end_k = exactly(test.end_c) + ZERO_CELSIUS_IN_KELVIN
    return start - (end + outside) * start_k / end_k + outside


def _lacking(name: str) -> str:
    other = "end_c" if name == "start_c" else "start_c"
    return f"There is {other} but no {name}; write both temperatures, or neither."


def _why(verdict: Verdict, drop: Fraction, limit: LimitRead, guard: Fraction, test: HoldTest) -> str:
    amount = written_apart([abs(drop), *{limit.value, limit.value - guard, limit.value + guard}])[0]
    if drop > 0:
        change = f"Dropped {amount} {test.unit}"
    elif drop < 0:
        change = f"Rose {amount} {test.unit}"
    else:
        change = "Did not drop"
    change += f" in {written(test.minutes)} minutes"
    if test.start_c is not None and test.end_c is not None:
        change += (
            f", corrected for {written(test.start_c)} °C at the start and {written(test.end_c)} °C at the end"
        )
    banded = f" with a guard of {written(guard)} {test.unit}" if guard else ""
    outcome = VERDICT_WORDS[verdict]
    if drop < 0:
        outcome += "; a pressure does not rise by itself, so look for warming or a slip in the readings"
    return f"{change}, against {limit.words}{banded}: {outcome}."
