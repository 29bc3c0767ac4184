"""A gauge found out of tolerance: which tests it puts in doubt, and what they say with its error taken off."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple, TypeVar

from inspections.judging.calibration_points import Calibration
from inspections.judging.decision import JudgingFault, exactly
from inspections.judging.hold_test import HoldLimits, HoldTest, HoldVerdict, judge_pressures
from inspections.judging.records import Verdict
from inspections.judging.stored import Stored
from inspections.judging.units import Unit, convert, written

_Done = TypeVar("_Done")


@dataclass(frozen=True, slots=True)
class ErrorAt(Stored):
    """The error of a gauge at one reference pressure, the mean of up and down, in the unit of the FoundError."""

    reference: Fraction
    error: Fraction


@dataclass(frozen=True, slots=True)
class FoundError(Stored):
    """The error of a gauge as found, over its dial; `points` in rising order of reference, in `unit`."""

    unit: Unit
    points: tuple[ErrorAt, ...]

    def at(self, reading: Decimal | Fraction, unit: Unit) -> Fraction:
        """The error at `reading`, both in `unit`: linear between two points, held beyond the ends."""
        here = convert(reading, unit, self.unit)
        after = bisect_right(self.points, here, key=lambda point: point.reference)
        if after == 0:
            error = self.points[0].error
        elif after == len(self.points):
            error = self.points[-1].error
        else:
            low, high = self.points[after - 1], self.points[after]
            share = (here - low.reference) / (high.reference - low.reference)
            error = low.error + share * (high.error - low.error)
        return convert(error, self.unit, unit)

    def corrected(self, reading: Decimal | Fraction, unit: Unit) -> Fraction:
        """`reading` less the error there, in `unit`: what a true gauge would have shown."""
        return exactly(reading) - self.at(reading, unit)


class CalibrationDone(NamedTuple):
    """A calibration on `day`, its verdict as found, and its `order` of recording within the day."""

    day: date
    verdict: Verdict
    order: int


class ReviewWindow(NamedTuple):
    """The days whose tests are under review: those later than `after` (None: from the first), to `until` with it."""

    after: date | None
    until: date

    def covers(self, day: date) -> bool:
        return (self.after is None or self.after < day) and day <= self.until


def found_error(calibration: Calibration) -> FoundError:
    """The error as found over the dial. Raises JudgingFault if nothing was read as found."""
    by_reference: dict[Fraction, list[Fraction]] = {}
    for point in calibration.points:
        if point.as_found is not None:
            reference = exactly(point.reference, "reference")
            by_reference.setdefault(reference, []).append(exactly(point.as_found, "as_found") - reference)
    if not by_reference:
        raise JudgingFault("Nothing was read as found, so the error of the gauge is not known.", "as_found")
    return FoundError(
        calibration.unit,
        tuple(
            ErrorAt(reference, sum(errors, Fraction(0)) / len(errors))
            for reference, errors in sorted(by_reference.items())
        ),
    )


def rejudge_hold_test(test: HoldTest, limits: HoldLimits, error: FoundError) -> HoldVerdict:
    """What `test` says with the gauge's error taken off both pressures. Whether it is evidence is not asked again.

    Raises JudgingFault as judge_hold_test does.
    """
    start = error.corrected(exactly(test.start_pressure, "start_pressure"), test.unit)
    end = error.corrected(exactly(test.end_pressure, "end_pressure"), test.unit)
    verdict = judge_pressures(start, end, test, limits)
    taken_off = (
        f"With the gauge's error taken off, {written(start)} {test.unit} at the start "
        f"and {written(end)} {test.unit} at the end"
    )
    return replace(verdict, why=f"{taken_off}: {verdict.why[0].lower()}{verdict.why[1:]}")


def review_window(
    calibrations: Iterable[CalibrationDone], failing: CalibrationDone | None = None
) -> ReviewWindow | None:
    """The days that a failing calibration of one gauge puts under review; None if none failed.

    From the day after the last one before it that passed as found, up to and with its own day; from the first if
    none passed. `failing` is the one to look back from, by default the latest that failed. Raises
    JudgingFault if `failing` did not fail.
    """
    by_time = sorted(calibrations, key=_when)
    if failing is None:
        failing = next((done for done in reversed(by_time) if done.verdict == "fail"), None)
        if failing is None:
            return None
    elif failing.verdict != "fail":
        raise JudgingFault(
            f"The calibration of {failing.day.isoformat()} did not fail, so nothing is under review from it."
        )
    when = _when(failing)
    passed = [done.day for done in by_time if done.verdict == "pass" and _when(done) < when]
    return ReviewWindow(passed[-1] if passed else None, failing.day)


def under_review(
    window: ReviewWindow, records: Iterable[_Done], day_of: Callable[[_Done], date]
) -> tuple[_Done, ...]:
    """Those of `records`, made with the gauge, whose day lies in the window, in the order given."""
    return tuple(record for record in records if window.covers(day_of(record)))


def _when(done: CalibrationDone) -> tuple[date, int]:
    return done.day, done.order
