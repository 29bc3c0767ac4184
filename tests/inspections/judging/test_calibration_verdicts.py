"""What a calibration says of a gauge: errors, hysteresis and zero, as found and as left."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inspections.judging import (
    UNITS,
    Calibration,
    CalibrationLimits,
    JudgingFault,
    Point,
    Unit,
    calibration_faults,
    judge_calibration,
)

PASCALS = {"bar": 1e5, "mbar": 1e2, "kPa": 1e3, "psi": 6894.757293168}
# Class 1.6 of 0.4 bar: 0.0064 bar.
LIMITS = CalibrationLimits("bar", Decimal("1.6"), Decimal("0.4"))
GUARDED = CalibrationLimits("bar", Decimal("1.6"), Decimal("0.4"), Decimal("0.001"))
SIMPLE = CalibrationLimits("bar", Decimal("1.6"), Decimal("0.4"), Decimal("0.001"), "simple")


def up(
    reference: str, found: str | None = None, left: str | None = None, uncertainty: str | None = None
) -> Point:
    return point("up", reference, found, left, uncertainty)


def down(reference: str, found: str | None = None, left: str | None = None) -> Point:
    return point("down", reference, found, left)


def point(direction: str, reference: str, *figures: str | None) -> Point:
    return Point(
        direction, Decimal(reference), *(None if text is None else Decimal(text) for text in figures)
    )  # type: ignore[arg-type]


def of(*points: Point, unit: Unit = "bar") -> Calibration:
    return Calibration(unit, points)


@pytest.mark.parametrize(
    ("found", "limits", "verdict"),
    [
        ("0.2064", LIMITS, "pass"),
        ("0.2065", LIMITS, "fail"),
        ("0.1936", LIMITS, "pass"),
        ("0.1935", LIMITS, "fail"),
        ("0.2054", GUARDED, "pass"),
        ("0.2055", GUARDED, "doubt"),
        ("0.1926", GUARDED, "doubt"),
        ("0.2074", GUARDED, "doubt"),
        ("0.2075", GUARDED, "fail"),
        ("0.2064", SIMPLE, "pass"),
        ("0.2065", SIMPLE, "fail"),
    ],
)
def test_exact_at_the_edges_high_and_low(found: str, limits: CalibrationLimits, verdict: str) -> None:
    assert judge_calibration(of(up("0.2", found)), limits).verdict == verdict


def test_the_worst_point_decides_and_is_named() -> None:
    verdict = judge_calibration(
        of(up("0", "0"), up("0.2", "0.198"), up("0.4", "0.393"), up("0.3", "0.303")), LIMITS
    )
    assert (verdict.verdict, verdict.max_error, verdict.permissible) == (
        "fail",
        Fraction("0.007"),
        Fraction("0.0064"),
    )
    assert verdict.why == (
        "Greatest error as found 0.007 bar low at 0.4 bar going up, against 0.0064 bar (1.6 % of 0.4 bar): fails."
    )


def test_a_gauge_without_error_says_so() -> None:
    verdict = judge_calibration(of(up("0", "0"), up("0.2", "0.20")), GUARDED)
    assert verdict.why == (
        "No error as found, against 0.0064 bar (1.6 % of 0.4 bar) with a guard of 0.001 bar: passes."
    )


def test_hysteresis_fails_a_gauge_whose_errors_all_pass() -> None:
    torn = judge_calibration(of(up("0.2", "0.196"), down("0.2", "0.2025")), LIMITS)
    assert (torn.verdict, torn.max_error, torn.hysteresis) == ("fail", Fraction("0.004"), Fraction("0.0065"))
    assert torn.why.endswith(", and up and down differ by 0.0065 bar at 0.2 bar: fails.")
    at_the_edge = judge_calibration(of(up("0.2", "0.196"), down("0.2", "0.2024")), LIMITS)
    assert (at_the_edge.verdict, at_the_edge.hysteresis) == ("pass", Fraction("0.0064"))


def test_the_guard_takes_nothing_off_the_hysteresis() -> None:
    """The rule names a guard for the errors alone."""
    assert judge_calibration(of(up("0.2", "0.196"), down("0.2", "0.2025")), GUARDED).verdict == "fail"
    assert judge_calibration(of(up("0.2", "0.197"), down("0.2", "0.2034")), GUARDED).verdict == "pass"


def test_hysteresis_is_known_only_where_both_ways_were_read() -> None:
    one_way = judge_calibration(of(up("0.2", "0.2"), down("0.3", "0.3"), down("0.2", None, "0.2")), LIMITS)
    assert one_way.hysteresis is None
    assert one_way.figures()["hysteresis"] is None
    greatest = of(up("0.1", "0.1"), down("0.1", "0.101"), up("0.2", "0.2"), down("0.20", "0.203"))
    assert judge_calibration(greatest, LIMITS).hysteresis == Fraction("0.003")


def test_zero_error_is_that_going_up_if_read_so() -> None:
    both = judge_calibration(of(down("0", "0.002"), up("0.0", "-0.001"), up("0.2", "0.2")), LIMITS)
    assert both.zero_error == Fraction("-0.001")
    assert judge_calibration(of(down("0", "0.002"), up("0.2", "0.2")), LIMITS).zero_error == Fraction("0.002")
    assert judge_calibration(of(up("0.2", "0.2")), LIMITS).zero_error is None
    assert judge_calibration(of(up("0", None, "0"), up("0.2", "0.2")), LIMITS).zero_error is None


def test_as_found_decides_the_verdict_and_as_left_the_use_from_then_on() -> None:
    mended = judge_calibration(of(up("0.2", "0.21", "0.201"), up("0.4", "0.41", "0.4")), LIMITS)
    assert (mended.verdict, mended.as_left, mended.usable_after) == ("fail", "pass", "pass")
    assert mended.why.endswith(": fails; as left: passes.")
    spoilt = judge_calibration(of(up("0.2", "0.2", "0.21")), LIMITS)
    assert (spoilt.verdict, spoilt.as_left, spoilt.usable_after) == ("pass", "fail", "fail")
    untouched = judge_calibration(of(up("0.2", "0.2055")), GUARDED)
    assert (untouched.verdict, untouched.as_left, untouched.usable_after) == ("doubt", None, "doubt")


def test_as_left_is_judged_with_its_own_hysteresis() -> None:
    torn = judge_calibration(of(up("0.2", "0.2", "0.196"), down("0.2", "0.2", "0.2025")), LIMITS)
    assert (torn.verdict, torn.as_left) == ("pass", "fail")


def test_an_uncertainty_greater_than_the_guard_is_the_guard_of_its_point() -> None:
    assert judge_calibration(of(up("0.2", "0.2054", None, "0.0011")), GUARDED).verdict == "doubt"
    assert judge_calibration(of(up("0.2", "0.2054", None, "0.0001")), GUARDED).verdict == "pass"
    assert judge_calibration(of(up("0.2", "0.2064", None, "0.01")), SIMPLE).verdict == "pass"
    # A smaller error known less well may decide; the sentence names that one.
    unsure = judge_calibration(of(up("0.1", "0.105"), up("0.2", "0.204", None, "0.003")), LIMITS)
    assert (unsure.verdict, unsure.max_error) == ("doubt", Fraction("0.005"))
    assert unsure.why.startswith("Error as found 0.004 bar high at 0.2 bar going up, against 0.0064 bar")


def test_points_in_another_unit_are_judged_in_it() -> None:
    """Class 1.6 of 0.4 bar is 0.64 kPa."""
    verdict = judge_calibration(of(up("20", "20.64"), up("40", "40"), unit="kPa"), LIMITS)
    assert (verdict.verdict, verdict.unit, verdict.permissible) == ("pass", "kPa", Fraction("0.64"))
    assert judge_calibration(of(up("20", "20.641"), unit="kPa"), LIMITS).verdict == "fail"
    psi = judge_calibration(of(up("3", "3.05"), unit="psi"), LIMITS)
    assert psi.figures() == {"max_error": 0.05, "permissible": 0.092824152, "hysteresis": None, "unit": "psi"}
    assert "against 0.09282 psi (1.6 % of 0.4 bar)" in psi.why


def test_errors_come_point_by_point_in_the_order_read() -> None:
    verdict = judge_calibration(
        of(up("0.2", "0.201", "0.2"), down("0.1", "0.099"), up("0", None, "0.001")), LIMITS
    )
    assert [(error.direction, error.as_found, error.as_left) for error in verdict.errors] == [
        ("up", Fraction("0.001"), 0),
        ("down", Fraction("-0.001"), None),
        ("up", None, Fraction("0.001")),
    ]


@pytest.mark.parametrize(
    ("calibration", "limits", "position", "field", "says"),
    [
        (of(), LIMITS, None, "reference", "no points"),
        (of(up("0.2", None, "0.2")), LIMITS, None, "as_found", "Nothing was read as found"),
        (of(up("0.1", "0.1"), up("0.2")), LIMITS, 1, "as_found", "At 0.2 bar nothing was read"),
        (
            of(up("0.2", "0.2"), up("0.20", "0.201")),
            LIMITS,
            1,
            "reference",
            "0.2 bar going up is there twice",
        ),
        (of(point("Up", "0.2", "0.2")), LIMITS, 0, "direction", "'Up' is not known; write up or down"),
        (of(up("0.43", "0.4")), LIMITS, 0, "reference", "0.43 bar is beyond the span of 0.4 bar"),
        (of(up("6.2", "5.8"), unit="psi"), LIMITS, 0, "reference", "6.2 psi is beyond the span of 0.4 bar"),
        (of(up("-0.1", "0")), LIMITS, 0, "reference", "-0.1 bar is below zero"),
        (of(up("0.2", "NaN")), LIMITS, 0, "as_found", "not a number"),
        (of(up("Infinity", "0.2")), LIMITS, 0, "reference", "not a number"),
        (of(up("0.2", "0.2", None, "-0.1")), LIMITS, 0, "uncertainty", "write 0 or more"),
        (of(up("0.2", "0.2"), unit="inHg"), LIMITS, None, "unit", "not one of bar"),  # type: ignore[arg-type]
        (
            of(up("0.2", "0.2")),
            CalibrationLimits("bar", None, Decimal(1)),
            None,
            "accuracy_class",
            "no accuracy",
        ),
        (
            of(up("0.2", "0.2")),
            CalibrationLimits("bar", Decimal(1), None),
            None,
            "span",
            "no span above zero",
        ),
        (
            of(up("0", "0")),
            CalibrationLimits("bar", Decimal(1), Decimal(0)),
            None,
            "span",
            "no span above zero",
        ),
    ],
)
def test_what_cannot_be_judged_is_a_fault_with_its_point_and_column(
    calibration: Calibration, limits: CalibrationLimits, position: int | None, field: str, says: str
) -> None:
    (fault,) = calibration_faults(calibration, limits)
    assert (fault.position, fault.field) == (position, field)
    assert says in fault.text
    with pytest.raises(JudgingFault) as raised:
        judge_calibration(calibration, limits)
    assert (str(raised.value), raised.value.field) == (fault.text, field)


def test_every_fault_is_named_at_once() -> None:
    found = list(calibration_faults(of(up("-1", "0"), point("left", "0.2"), up("-1", "0")), LIMITS))
    assert [(fault.position, fault.field) for fault in found] == [
        (0, "reference"),
        (1, "direction"),
        (1, "as_found"),
        (2, "reference"),
        (2, "reference"),
    ]


@pytest.mark.parametrize("figure", ["NaN", "sNaN", "Infinity", "1E+999999"])
def test_odd_figures_end_in_a_sentence_wherever_they_stand(figure: str) -> None:
    odd, nought = Decimal(figure), Decimal(0)
    for field, stood in [
        ("reference", Point("up", odd, nought)),
        ("as_found", Point("up", nought, odd)),
        ("as_left", Point("up", nought, nought, odd)),
        ("uncertainty", Point("up", nought, nought, None, odd)),
    ]:
        faults = list(calibration_faults(of(stood, down("0", "0")), LIMITS))
        assert [(fault.position, fault.field) for fault in faults] == [(0, field)]
    for field in ("accuracy_class", "span", "guard"):
        with pytest.raises(JudgingFault, match=r"number|figure") as fault:
            CalibrationLimits("bar", **{field: odd})  # type: ignore[arg-type]
        assert fault.value.field == field


def test_a_guard_below_zero_is_a_fault() -> None:
    with pytest.raises(JudgingFault, match="guard below zero"):
        CalibrationLimits("bar", Decimal(1), Decimal(1), Decimal("-0.1"))


shown = st.one_of(st.none(), st.decimals("-0.02", "0.02", places=4))


@given(
    rows=st.lists(
        st.tuples(st.sampled_from(["up", "down"]), st.decimals("0", "0.4", places=1), shown, shown),
        min_size=1,
        max_size=8,
        unique_by=lambda row: row[:2],
    ),
    unit=st.sampled_from(UNITS),
    accuracy_class=st.sampled_from(["0.6", "1", "1.6", "2.5", "4"]),
    guard=st.decimals("0", "0.004", places=4),
)
def test_agrees_with_floating_point_away_from_the_edges(
    rows: list[tuple[str, Decimal, Decimal | None, Decimal | None]],
    unit: Unit,
    accuracy_class: str,
    guard: Decimal,
) -> None:
    """Worked a second way: in pascal, straight from the words of the register's page."""
    rows = [row for row in rows if row[2] is not None or row[3] is not None]
    assume(any(row[2] is not None for row in rows))
    scale = Decimal(repr(round(1e5 / PASCALS[unit], 6)))
    points = [
        Point(
            way,  # type: ignore[arg-type]
            # A shade inside the span, which the rounded scale could push a point over.
            reference * scale * Decimal("0.9999"),
            None if found is None else (reference * Decimal("0.9999") + found) * scale,
            None if left is None else (reference * Decimal("0.9999") + left) * scale,
        )
        for way, reference, found, left in rows
    ]
    limits = CalibrationLimits("bar", Decimal(accuracy_class), Decimal("0.4"), guard)
    got = judge_calibration(Calibration(unit, tuple(points)), limits)

    permissible, band = float(accuracy_class) / 100 * 0.4 * 1e5, float(guard) * 1e5
    for column, verdict in ((2, got.verdict), (3, got.as_left)):
        errors = {row[:2]: float(row[column]) * 1e5 for row in rows if row[column] is not None}  # type: ignore[arg-type]
        if not errors:
            assert verdict is None
            continue
        apart = [
            abs(errors["down", at] - errors["up", at])
            for _, at in errors
            if {("up", at), ("down", at)} <= errors.keys()
        ]
        sizes = [abs(error) for error in errors.values()]
        edges = [abs(size - permissible - by) for size in sizes for by in (band, -band)]
        assume(min(edges + [abs(size - permissible) for size in apart]) > 0.1)
        if any(size - band > permissible for size in sizes) or any(size > permissible for size in apart):
            expected = "fail"
        elif all(size + band <= permissible for size in sizes):
            expected = "pass"
        else:
            expected = "doubt"
        assert verdict == expected
        if column == 2:
            assert float(got.max_error) * PASCALS[unit] == pytest.approx(max(sizes), abs=0.1)
            assert (got.hysteresis is None) == (not apart)
            if got.hysteresis is not None:
                assert float(got.hysteresis) * PASCALS[unit] == pytest.approx(max(apart), abs=0.1)


def test_a_standard_may_read_a_little_past_the_last_mark() -> None:
    # 5.802 psi are 0.40003 bar, on a dial of 0.4 bar: the gauge stands on its last mark and reads low.
    assert not list(calibration_faults(of(up("5.802", "5.79"), unit="psi"), LIMITS))
    assert not list(calibration_faults(of(up("0.41", "0.4")), LIMITS))
