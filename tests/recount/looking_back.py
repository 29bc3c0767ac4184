"""What a gauge found out of tolerance puts in doubt, and the answers of `verdicts` and `look_back`, once more."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import Any

from tests.recount.readings import (
    Bench,
    Calibration,
    HoldTest,
    convert,
    drop_of,
    errors_of,
    judge_hold_test,
    limit_of,
    verdict_as_found,
)


def found_error(calibration: Calibration, reading: Fraction) -> Fraction:
    """The found error at a reading in the calibration's unit: between points on a straight line, beyond them held."""
    errors: dict[Fraction, list[Fraction]] = {}
    for point in calibration.points:
        errors.setdefault(point.reference, []).append(point.as_found - point.reference)
    means = sorted((reference, sum(found) / len(found)) for reference, found in errors.items())
    if reading <= means[0][0]:
        return means[0][1]
    for (low, low_error), (high, high_error) in pairwise(means):
        if reading <= high:
            return low_error + (high_error - low_error) * (reading - low) / (high - low)
    return means[-1][1]


def corrected(calibration: Calibration, reading: Fraction, unit: str) -> Fraction:
    there = convert(reading, unit, calibration.unit)
    return convert(there - found_error(calibration, there), calibration.unit, unit)


@dataclass(frozen=True)
class Found:
    """One verdict on a gauge as found; `calibration` is None where a plain record says no more than that."""

    day: date
    verdict: str
    calibration: Calibration | None


def all_found(bench: Bench, gauge: str) -> list[Found]:
    """Every calibration of the gauge in order of day, one that is a plain record of such a check as well."""
    read = [one for one in bench.calibrations if one.gauge == gauge]
    found = [Found(one.done_on, verdict_as_found(bench, one), one) for one in read]
    kind = bench.register.items[gauge].kind
    for tag, check, day, verdict in bench.plain:
        limits = bench.limits.get((kind, check))
        if tag == gauge and limits and limits.method == "calibration":
            found.append(Found(day, verdict, None))
    return sorted(found, key=lambda one: one.day)


def latest_failing(bench: Bench, gauge: str) -> Found | None:
    """The latest calibration that found the gauge out of tolerance."""
    return next((one for one in reversed(all_found(bench, gauge)) if one.verdict == "fail"), None)


def last_passing_day(bench: Bench, gauge: str, failing: Found) -> date | None:
    """The day of the last calibration before it that found the gauge good."""
    days = [one.day for one in all_found(bench, gauge) if one.verdict == "pass" and one.day < failing.day]
    return max(days, default=None)


def judge_again(bench: Bench, failing: Found, test: HoldTest) -> str:
    """Empty where nobody wrote down by how much the gauge was out."""
    if failing.calibration is None:
        return ""
    start, end = (corrected(failing.calibration, reading, test.unit) for reading in (test.start, test.end))
    return judge_hold_test(bench, test, start, end)


def relied_on(bench: Bench, gauge: str, failing: Found) -> list[HoldTest]:
    """The hold tests made with the gauge after its last good calibration, up to and with the failing one's day."""
    after = last_passing_day(bench, gauge, failing)
    return [
        test
        for test in bench.hold_tests
        if test.gauge == gauge and test.done_on <= failing.day and (after is None or test.done_on > after)
    ]


# The commands' answers ---------------------------------------------------------------------------------------------


def verdicts(bench: Bench, tag: str | None = None) -> list[dict[str, Any]]:
    """What `verdicts` must answer, without the texts for people, in no order that the page gives."""
    found = []
    for test in bench.hold_tests:
        verdict = judge_hold_test(bench, test)
        drop = drop_of(test, test.start, test.end)
        figures: dict[str, Any] = {
            "drop": float(drop),
            "limit": float(limit_of(bench, test)),
            "unit": test.unit,
        }
        found.append(_verdict(test.tag, test.check, test.done_on, verdict, figures))
    for one in bench.calibrations:
        errors = errors_of(bench, one)
        figures = {
            "max_error": float(errors.max_error),
            "permissible": float(errors.permissible),
            "hysteresis": None if errors.hysteresis is None else float(errors.hysteresis),
            "unit": one.unit,
        }
        found.append(_verdict(one.gauge, one.check, one.done_on, errors.verdict, figures))
    return [entry for entry in found if tag in (None, entry["tag"])]


def _verdict(tag: str, check: str, done_on: date, verdict: str, figures: dict[str, Any]) -> dict[str, Any]:
    day = done_on.isoformat()
    return {
        "tag": tag,
        "check": check,
        "done_on": day,
        "verdict": verdict,
        "stored": verdict,
        "figures": figures,
    }


def look_back(bench: Bench, gauge: str) -> dict[str, Any]:
    """What `look_back` must answer, the records in no order that the page gives.

    The jobs are those that were promised what was tested, whether the promise still holds or not: the page does not
    say which, the application answers so.
    """
    failing = latest_failing(bench, gauge)
    if failing is None:
        # The page is silent about a gauge that was never found out of tolerance: nothing is in doubt.
        return {"gauge": gauge, "after": None, "until": None, "records": [], "jobs": []}
    after = last_passing_day(bench, gauge, failing)
    tests = relied_on(bench, gauge, failing)
    tags = {test.tag for test in tests}
    return {
        "gauge": gauge,
        "after": after.isoformat() if after else None,
        "until": failing.day.isoformat(),
        "records": [
            {
                "tag": test.tag,
                "check": test.check,
                "done_on": test.done_on.isoformat(),
                "verdict": judge_hold_test(bench, test),
                "rejudged": judge_again(bench, failing, test),
            }
            for test in tests
        ],
        "jobs": sorted({job for job, tag in bench.promised if tag in tags}),
    }
