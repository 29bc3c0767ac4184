"""Whether a gauge reads true: its errors point by point, as it was found and as it was left."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from inspections.judging.calibration_points import (
    Calibration,
    CalibrationLimits,
    Direction,
    Point,
    calibration_faults,
)
from inspections.judging.decision import (
    VERDICT_WORDS,
    DecisionRule,
    JudgingFault,
    applied_guard,
    exactly,
    worst,
    zone,
)
from inspections.judging.records import Verdict
from inspections.judging.stored import Stored
from inspections.judging.units import Unit, convert, written, written_apart

Side = Literal["as_found", "as_left"]

# EN 837-1:1996, accuracy classes (from memory): the greatest permissible error at 20 °C in % of the span.
EN_837_CLASSES = tuple(Decimal(text) for text in ("0.1", "0.25", "0.6", "1", "1.6", "2.5", "4"))
_EN_837_REFERENCE_C = Decimal(20)
_EN_837_PERCENT_PER_KELVIN = Decimal("0.04")


@dataclass(frozen=True, slots=True)
class PointError(Stored):
    """Indicated less reference at one point, as found and as left, in the calibration's unit; None if not read."""

    direction: Direction
    reference: Decimal
    as_found: Fraction | None
    as_left: Fraction | None


@dataclass(frozen=True, slots=True)
class CalibrationVerdict(Stored):
    """What a calibration says; figures in `unit`, exact. `verdict` and the figures are of the gauge as found.

    `max_error`: the greatest error, without its sign. `hysteresis`: the greatest |down - up| at a point read both
    ways, None if none was. `zero_error`: the error at reference 0, going up if read so; None if not read.
    `as_left`: the verdict of what was read as left, None if nothing was.
    """

    verdict: Verdict
    as_left: Verdict | None
    max_error: Fraction
    permissible: Fraction
    guard: Fraction
    hysteresis: Fraction | None
    zero_error: Fraction | None
    unit: Unit
    why: str
    errors: tuple[PointError, ...]

    @property
    def usable_after(self) -> Verdict:
        """Whether the gauge may be used from then on: as left where that was read, else as found."""
        return self.verdict if self.as_left is None else self.as_left

    def figures(self) -> dict[str, float | str | None]:
        """What the `verdicts` command shows, rounded to nine decimals."""
        return {
            "max_error": round(float(self.max_error), 9),
            "permissible": round(float(self.permissible), 9),
            "hysteresis": None if self.hysteresis is None else round(float(self.hysteresis), 9),
            "unit": self.unit,
        }


def permissible_error(accuracy_class: Decimal, span: Decimal | Fraction) -> Fraction:
    """The greatest permissible error at 20 °C, in the unit of `span`: so many % of it (EN 837-1, from memory)."""
    return exactly(accuracy_class, "accuracy_class") / 100 * exactly(span, "span")


def temperature_influence_percent(celsius: Decimal) -> Decimal:
    """What EN 837-1 lets a gauge add to its error away from 20 °C, in % of span: 0.04 a kelvin (from memory).

    For people to look at: no verdict allows for it.
    """
    return _EN_837_PERCENT_PER_KELVIN * abs(celsius - _EN_837_REFERENCE_C)


def judge_calibration(calibration: Calibration, limits: CalibrationLimits) -> CalibrationVerdict:
    """The verdict of a calibration, in the unit that was read.

    Fail if any |error| - guard > permissible or any hysteresis > permissible, pass if every |error| + guard <=
    permissible, else doubt. The guard of a point is the check's or, if that is greater, the uncertainty
    of the point. Raises JudgingFault with the first of `calibration_faults`.
    """
    for fault in calibration_faults(calibration, limits):
        raise JudgingFault(fault.text, fault.field)
    assert limits.accuracy_class is not None
    assert limits.span is not None
    unit = calibration.unit
    permissible = permissible_error(limits.accuracy_class, convert(limits.span, limits.unit, unit))
    guard = applied_guard(convert(limits.guard, limits.unit, unit), limits.rule)
    found = _judge_side("as_found", calibration, permissible, guard, limits.rule)
    assert found is not None
    left = _judge_side("as_left", calibration, permissible, guard, limits.rule)
    at_zero = sorted(
        (point for point in calibration.points if point.reference == 0 and point.as_found is not None),
        key=lambda point: point.direction != "up",
    )
    return CalibrationVerdict(
        verdict=found.verdict,
        as_left=left.verdict if left else None,
        max_error=found.max_error,
        permissible=permissible,
        guard=guard,
        hysteresis=found.hysteresis,
        zero_error=_error(at_zero[0], "as_found") if at_zero else None,
        unit=unit,
        why=_why(found, left, permissible, unit, limits),
        errors=tuple(
            PointError(point.direction, point.reference, _error(point, "as_found"), _error(point, "as_left"))
            for point in calibration.points
        ),
    )


class _JudgedSide(NamedTuple):
    """One side of a calibration judged; `decided_by` is the point with the worst verdict, then error."""

    verdict: Verdict
    decided_by: Point
    error: Fraction
    guard: Fraction
    max_error: Fraction
    hysteresis: Fraction | None
    hysteresis_at: Decimal


def _error(point: Point, side: Side) -> Fraction | None:
    """Indicated less reference."""
    indicated: Decimal | None = getattr(point, side)
    return None if indicated is None else exactly(indicated) - exactly(point.reference)


def _judge_side(
    side: Side, calibration: Calibration, permissible: Fraction, guard: Fraction, rule: DecisionRule
) -> _JudgedSide | None:
    """None if nothing was read on this side."""
    judged: list[tuple[Verdict, Fraction, Fraction, Point]] = []
    by_reference: dict[Decimal, list[Fraction]] = {}
    for point in calibration.points:
        error = _error(point, side)
        if error is None:
            continue
        at_point = max(guard, applied_guard(exactly(point.uncertainty or 0), rule))
        judged.append((zone(abs(error), permissible, at_point), error, at_point, point))
        by_reference.setdefault(point.reference, []).append(error)
    if not judged:
        return None
    of_errors = worst(verdict for verdict, *_ in judged)
    _, error, at_point, decided_by = max(
        (entry for entry in judged if entry[0] == of_errors), key=lambda entry: abs(entry[1])
    )
    # At one reference the errors of up and down differ by as much as the readings do.
    both_ways = [(max(both) - min(both), at) for at, both in by_reference.items() if len(both) == 2]
    hysteresis, hysteresis_at = max(both_ways, default=(None, Decimal(0)))
    torn = hysteresis is not None and hysteresis > permissible
    return _JudgedSide(
        "fail" if torn else of_errors,
        decided_by,
        error,
        at_point,
        max(abs(entry[1]) for entry in judged),
        hysteresis,
        hysteresis_at,
    )


def _why(
    found: _JudgedSide,
    left: _JudgedSide | None,
    permissible: Fraction,
    unit: Unit,
    limits: CalibrationLimits,
) -> str:
    edges = {permissible, permissible - found.guard, permissible + found.guard}
    amount = written_apart([abs(found.error), *edges])[0]
    if found.error:
        greatest = "Greatest error" if abs(found.error) == found.max_error else "Error"
        side = "high" if found.error > 0 else "low"
        at = f"{written(found.decided_by.reference)} {unit} going {found.decided_by.direction}"
        text = f"{greatest} as found {amount} {unit} {side} at {at}"
    else:
        text = "No error as found"
    assert limits.accuracy_class is not None
    assert limits.span is not None
    class_of = f"{written(limits.accuracy_class)} % of {written(limits.span)} {limits.unit}"
    banded = f" with a guard of {written(found.guard)} {unit}" if found.guard else ""
    text += f", against {written(permissible)} {unit} ({class_of}){banded}"
    if found.hysteresis is not None and found.hysteresis > permissible:
        apart, _ = written_apart([found.hysteresis, permissible])
        text += f", and up and down differ by {apart} {unit} at {written(found.hysteresis_at)} {unit}"
    text += f": {VERDICT_WORDS[found.verdict]}"
    return f"{text}; as left: {VERDICT_WORDS[left.verdict]}." if left else f"{text}."
