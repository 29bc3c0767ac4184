"""The points of a calibration, what a check asks of a gauge, and why some points cannot be judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from inspections.judging.decision import DecisionRule, JudgingFault, applied_guard, exactly
from inspections.judging.stored import Stored
from inspections.judging.units import PASCALS, Unit, convert, written

Direction = Literal["up", "down"]

PAST_THE_LAST_MARK = Fraction(105, 100)
"""A standard may read a little past the span while a gauge that reads low stands on its last mark (no source)."""


@dataclass(frozen=True, slots=True)
class Point(Stored):
    """What the gauge showed at one `reference` pressure, going up or coming down, in the calibration's unit.

    `as_found` before anything was set, `as_left` after; None where not read. `uncertainty`: the expanded
    uncertainty of the error at this point, where the certificate gives one.
    """

    direction: Direction
    reference: Decimal
    as_found: Decimal | None = None
    as_left: Decimal | None = None
    uncertainty: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Calibration(Stored):
    """The points of one calibration, in the order read, all in `unit`."""

    unit: Unit
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class CalibrationLimits(Stored):
    """What a check asks of a gauge: `accuracy_class` in % of `span`, `span` and `guard` in `unit`.

    None where the check does not say; then nothing can be judged. Raises JudgingFault for a guard below zero
    and for figures that are no numbers.
    """

    unit: Unit
    accuracy_class: Decimal | None = None
    span: Decimal | None = None
    guard: Decimal = Decimal(0)
    rule: DecisionRule = "guarded"

    def __post_init__(self) -> None:
        applied_guard(exactly(self.guard, "guard"), self.rule)
        exactly(self.accuracy_class or 0, "accuracy_class")
        exactly(self.span or 0, "span")


class PointFault(NamedTuple):
    """Why a calibration cannot be judged: `position` of the point, from 0, None for all of it; `field` the column."""

    position: int | None
    field: str
    text: str


def calibration_faults(calibration: Calibration, limits: CalibrationLimits) -> Iterator[PointFault]:
    """Everything for which a calibration cannot be judged, what the check lacks first, then point by point."""
    for name in ("accuracy_class", "span"):
        figure: Decimal | None = getattr(limits, name)
        if figure is None or figure <= 0:
            yield PointFault(
                None, name, f"This check has no {name} above zero, so no error is too great; write one."
            )
    if calibration.unit not in PASCALS:
        yield PointFault(None, "unit", f"{calibration.unit!r} is not one of bar, mbar, kPa and psi.")
        return
    if not calibration.points:
        yield PointFault(None, "reference", "There are no points; write one row for each pressure.")
    elif all(point.as_found is None for point in calibration.points):
        yield PointFault(
            None,
            "as_found",
            "Nothing was read as found, and that decides; write what it showed before setting.",
        )
    seen: set[tuple[str, Decimal]] = set()
    for position, point in enumerate(calibration.points):
        for field, text in _faults_of_point(point, calibration.unit, limits):
            yield PointFault(position, field, text)
        if not point.reference.is_finite():
            continue
        if (point.direction, point.reference) in seen:
            where = f"{written(point.reference)} {calibration.unit} going {point.direction}"
            yield PointFault(position, "reference", f"{where} is there twice; keep one of them.")
        seen.add((point.direction, point.reference))


def _faults_of_point(point: Point, unit: Unit, limits: CalibrationLimits) -> Iterator[tuple[str, str]]:
    if point.direction not in ("up", "down"):
        yield "direction", f"The direction {point.direction!r} is not known; write up or down."
    unusable = set()
    for name in ("reference", "as_found", "as_left", "uncertainty"):
        value: Decimal | None = getattr(point, name)
        try:
            exactly(value or 0, name)
        except JudgingFault as fault:
            unusable.add(name)
            yield name, str(fault)
    if "reference" not in unusable:
        where = f"{written(point.reference)} {unit}"
        if point.reference < 0:
            yield "reference", f"{where} is below zero; write the pressure above that outside."
        elif (
            limits.span is not None
            and exactly(point.reference) > convert(limits.span, limits.unit, unit) * PAST_THE_LAST_MARK
        ):
            span = f"{written(limits.span)} {limits.unit}"
            yield "reference", f"{where} is beyond the span of {span}; write a point on the dial."
        if point.as_found is None and point.as_left is None:
            yield "as_found", f"At {where} nothing was read; write as_found or as_left, or leave the row out."
    if "uncertainty" not in unusable and (point.uncertainty or 0) < 0:
        yield "uncertainty", f"The uncertainty is {point.uncertainty}; write 0 or more."
