"""A gauge found out of tolerance: its error over the dial, tests judged again, and the days under review."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import (
    UNITS,
    Calibration,
    CalibrationDone,
    HoldLimits,
    HoldTest,
    JudgingFault,
    Point,
    PrintedLimits,
    ReviewWindow,
    Unit,
    convert,
    found_error,
    judge_hold_test,
    rejudge_hold_test,
    review_window,
    under_review,
)

PASCALS = {"bar": 1e5, "mbar": 1e2, "kPa": 1e3, "psi": 6894.757293168}
LIMITS = HoldLimits("bar", Decimal("0.2"), Decimal("0.01"), Decimal(5))


def gauge(*rows: tuple[str, str, str], unit: Unit = "bar") -> Calibration:
    """Points from (direction, reference, as found)."""
    return Calibration(
        unit,
        tuple(Point(way, Decimal(reference), Decimal(found)) for way, reference, found in rows),  # type: ignore[arg-type]
    )


def held(start: str, end: str, unit: Unit = "bar", **more: Decimal) -> HoldTest:
    return HoldTest(Decimal(start), Decimal(end), unit, Decimal(5), **more)


HIGH_AT_THE_TOP = gauge(("up", "0.3", "0.33"), ("up", "0.1", "0.1"))


def test_error_is_the_mean_of_up_and_down_at_each_reference() -> None:
    error = found_error(gauge(("up", "0.2", "0.201"), ("down", "0.20", "0.207"), ("up", "0.4", "0.41")))
    assert [(point.reference, point.error) for point in error.points] == [
        (Fraction("0.2"), Fraction("0.004")),
        (Fraction("0.4"), Fraction("0.01")),
    ]


def test_error_is_linear_between_points_and_held_beyond_the_ends() -> None:
    error = found_error(HIGH_AT_THE_TOP)
    at = {reading: error.at(Decimal(reading), "bar") for reading in ("0", "0.1", "0.15", "0.2", "0.3", "0.5")}
    assert at == {
        "0": 0,
        "0.1": 0,
        "0.15": Fraction("0.0075"),
        "0.2": Fraction("0.015"),
        "0.3": Fraction("0.03"),
        "0.5": Fraction("0.03"),
    }
    assert error.corrected(Decimal("0.2"), "bar") == Fraction("0.185")


def test_a_single_point_holds_everywhere() -> None:
    error = found_error(gauge(("down", "0.2", "0.195")))
    assert {error.at(Decimal(reading), "bar") for reading in ("0", "0.2", "1")} == {Fraction("-0.005")}


def test_a_gauge_not_read_as_found_has_no_known_error() -> None:
    with pytest.raises(JudgingFault, match="Nothing was read as found"):
        found_error(Calibration("bar", (Point("up", Decimal(0), None, Decimal(0)),)))


def test_readings_in_another_unit_than_the_calibration() -> None:
    error = found_error(HIGH_AT_THE_TOP)
    assert error.at(Decimal(20), "kPa") == Fraction("1.5")
    assert error.corrected(Decimal(200), "mbar") == 185


def test_a_pass_that_turns_into_a_fail() -> None:
    """By hand: 0.2 less 0.015 is 0.185; 0.19 less 0.0135 is 0.1765; the drop is 0.0085: passes still. A gauge that
    sticks at the bottom hides more: 0.2 is 0.2, but what read 0.19 was 0.185.
    """
    steep = rejudge_hold_test(held("0.2", "0.19"), LIMITS, found_error(HIGH_AT_THE_TOP))
    assert (steep.verdict, steep.drop) == ("pass", Fraction("0.0085"))
    sticking = found_error(gauge(("up", "0.19", "0.195"), ("up", "0.2", "0.2")))
    hidden = rejudge_hold_test(held("0.2", "0.19"), LIMITS, sticking)
    assert judge_hold_test(held("0.2", "0.19"), LIMITS).verdict == "pass"
    assert (hidden.verdict, hidden.drop) == ("fail", Fraction("0.015"))
    assert hidden.why == (
        "With the gauge's error taken off, 0.2 bar at the start and 0.185 bar at the end: "
        "dropped 0.015 bar in 5 minutes, against 0.01 bar as printed: fails."
    )


def test_the_same_limits_and_temperatures_judge_again() -> None:
    limits = HoldLimits(
        "bar", max_drop=Decimal("0.01"), other_units={"psi": PrintedLimits(max_drop=Decimal("0.2"))}
    )
    test = held("3", "2.9", "psi", start_c=Decimal(10), end_c=Decimal(12), ambient_bar=Decimal("0.98"))
    true = found_error(gauge(("up", "0", "0"), ("up", "0.4", "0.4")))
    again, first = rejudge_hold_test(test, limits, true), judge_hold_test(test, limits)
    assert (again.verdict, again.drop, again.limit, again.corrected) == (
        first.verdict,
        first.drop,
        first.limit,
        True,
    )


def test_what_was_no_evidence_is_judged_again_all_the_same() -> None:
    too_high = rejudge_hold_test(held("0.5", "0.5"), LIMITS, found_error(HIGH_AT_THE_TOP))
    assert (too_high.verdict, too_high.drop) == ("pass", 0)


def test_an_offset_alone_changes_no_drop() -> None:
    offset = found_error(gauge(("up", "0", "0.02"), ("up", "0.4", "0.42")))
    test = held("0.2", "0.193")
    assert rejudge_hold_test(test, LIMITS, offset).drop == judge_hold_test(test, LIMITS).drop


@given(
    errors=st.dictionaries(st.integers(0, 40), st.integers(-50, 50), min_size=1, max_size=8),
    reading=st.decimals("-0.1", "0.6", places=4),
    calibrated_in=st.sampled_from(UNITS),
    read_in=st.sampled_from(UNITS),
)
def test_interpolates_as_numpy_does(
    errors: dict[int, int], reading: Decimal, calibrated_in: Unit, read_in: Unit
) -> None:
    """Source: numpy.interp, in floating point; `errors` by hundredths of the unit, in thousandths."""
    rows = [
        ("up", str(Decimal(at) / 100), str(Decimal(at) / 100 + Decimal(by) / 1000))
        for at, by in errors.items()
    ]
    got = found_error(gauge(*rows, unit=calibrated_in)).at(convert(reading, calibrated_in, read_in), read_in)
    xs = sorted(errors)
    expected = numpy.interp(float(reading), [x / 100 for x in xs], [errors[x] / 1000 for x in xs])
    assert float(got) * PASCALS[read_in] == pytest.approx(expected * PASCALS[calibrated_in], abs=1e-6)


def done(day: str, verdict: str, order: int = 0) -> CalibrationDone:
    return CalibrationDone(date.fromisoformat(day), verdict, order)  # type: ignore[arg-type]


def window(after: str | None, until: str) -> ReviewWindow:
    return ReviewWindow(date.fromisoformat(after) if after else None, date.fromisoformat(until))


def test_from_the_last_pass_to_the_day_of_the_fail() -> None:
    history = [
        done("2026-07-01", "fail"),
        done("2025-07-01", "pass"),
        done("2026-01-01", "pass"),
        done("2026-04-01", "doubt"),
    ]
    assert review_window(history) == window("2026-01-01", "2026-07-01")


def test_all_before_for_a_gauge_that_never_passed() -> None:
    assert review_window([done("2026-01-01", "doubt"), done("2026-07-01", "fail")]) == window(
        None, "2026-07-01"
    )


def test_nothing_for_a_gauge_that_never_failed() -> None:
    assert review_window([]) is None
    assert review_window([done("2026-01-01", "pass"), done("2026-07-01", "doubt")]) is None


def test_a_pass_after_the_fail_does_not_shorten_the_look_back() -> None:
    history = [done("2026-01-01", "pass"), done("2026-07-01", "fail", 1), done("2026-07-01", "pass", 2)]
    assert review_window(history) == window("2026-01-01", "2026-07-01")


def test_the_latest_fail_unless_another_is_named() -> None:
    history = [
        done("2025-01-01", "pass"),
        done("2025-07-01", "fail"),
        done("2026-01-01", "pass"),
        done("2026-07-01", "fail"),
    ]
    assert review_window(history) == window("2026-01-01", "2026-07-01")
    assert review_window(history, history[1]) == window("2025-01-01", "2025-07-01")
    with pytest.raises(JudgingFault, match="2026-01-01 did not fail"):
        review_window(history, history[2])


def test_the_day_of_the_pass_is_out_and_the_day_of_the_fail_is_in() -> None:
    days = [date(2026, 6, 30) + timedelta(days=n) for n in range(-1, 5)]
    records = [(day, f"B-{day.day:02}") for day in days]
    found = under_review(window("2026-06-30", "2026-07-02"), records, lambda record: record[0])
    assert [tag for _, tag in found] == ["B-01", "B-02"]
    assert len(under_review(window(None, "2026-07-02"), records, lambda record: record[0])) == 4
    assert under_review(window("2026-07-02", "2026-07-02"), records, lambda record: record[0]) == ()
