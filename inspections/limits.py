"""What a version of a check asks for, as the values that judging takes: limits, classes, forms."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from inspections.judging import (
    CalibrationLimits,
    Form,
    HoldLimits,
    PrintedLimits,
    Unit,
    convert,
    guard_of_difference,
)
from inspections.models.check import CheckVersion, DecisionRule, RuleColumns


class Stated(NamedTuple):
    """The expanded uncertainty of a gauge as its last calibration states it, in `unit`."""

    value: Decimal
    unit: Unit

    def to_json(self) -> dict[str, str]:
        return {"value": format(self.value.normalize(), "f"), "unit": self.unit}


def stated_in(readings: Mapping[str, Any]) -> Stated | None:
    """The uncertainty that went into the guard of a stored hold test, if one did."""
    said = readings.get("gauge_uncertainty")
    return Stated(Decimal(said["value"]), said["unit"]) if said else None


def asks_the_gauge(rule: RuleColumns) -> bool:
    """Whether the guard follows the uncertainty of the gauge: guarded, and no guard of its own is set."""
    return rule.guard is None and rule.decision == DecisionRule.GUARDED


def hold_limits(rule: RuleColumns, stated: Stated | None = None) -> HoldLimits:
    """The limits of a hold test, those printed for further units among them. Raises JudgingFault if they are none.

    Where the rule sets no guard, `stated` gives it: the drop is the difference of two readings of that gauge.
    """
    guard = rule.guard or Decimal(0)
    if stated is not None and asks_the_gauge(rule):
        exact = convert(stated.value, stated.unit, rule.unit)  # type: ignore[arg-type]
        guard = guard_of_difference(Decimal(exact.numerator) / Decimal(exact.denominator))
    return HoldLimits(
        rule.unit,  # type: ignore[arg-type]
        rule.max_pressure,
        rule.max_drop,
        rule.hold_minutes,
        guard,
        rule.decision,  # type: ignore[arg-type]
        # Once a check is read in another unit, what was printed beside it for that unit gives way to its own limits.
        {
            unit: PrintedLimits.from_json(said)
            for unit, said in rule.other_limits.items()
            if unit != rule.unit
        },
    )


def calibration_limits(rule: RuleColumns) -> CalibrationLimits:
    """What is asked of a gauge. Raises JudgingFault if it is no limit."""
    return CalibrationLimits(
        rule.unit,  # type: ignore[arg-type]
        rule.accuracy_class,
        rule.span,
        rule.guard or Decimal(0),
        rule.decision,  # type: ignore[arg-type]
    )


def form_of(rule: RuleColumns) -> Form:
    """The form to be filled in. Raises FormFault if it is none."""
    return Form.from_json(rule.form)


def in_force(versions: Iterable[CheckVersion], day: date) -> CheckVersion | None:
    """The version in force on `day`; None if the first came later."""
    begun = [version for version in versions if version.in_force_from <= day]
    return max(begun, key=_precedence, default=None)


def version_that_judges(
    versions: Iterable[CheckVersion], day: date, today: date, **asked: Any
) -> CheckVersion | None:
    """The version that judges readings of `day`, of those whose columns are as `asked` (method="hold test").

    The one in force on that day. Where the check could not judge such readings yet, a depot that states its
    limits now may still bring the readings it has from before: the first version that can, of those in force by
    `today`, judges them, as the first of all judges what was done before it. None: no version does.
    """
    listed = list(versions)

    def can(version: CheckVersion) -> bool:
        return all(getattr(version, name) == value for name, value in asked.items())

    then = in_force(listed, day)
    if then is not None and can(then):
        return then
    begun = sorted((each for each in listed if each.in_force_from <= today), key=_precedence)
    able = [version for version in begun if can(version)]
    if not able or (then is not None and _precedence(able[0]) < _precedence(then)):
        return None  # it could once, and no longer did on that day
    # Of several from one day the last made holds.
    return [each for each in able if each.in_force_from == able[0].in_force_from][-1]


def _precedence(version: CheckVersion) -> tuple[date, int]:
    return version.in_force_from, version.number
