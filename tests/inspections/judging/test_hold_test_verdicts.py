"""What a hold test says: drop, limit, guard and unit, as the register's own page states the rules."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inspections.judging import (
    UNITS,
    HoldLimits,
    HoldTest,
    JudgingFault,
    PrintedLimits,
    Unit,
    judge_hold_test,
)

PASCALS = {"bar": 1e5, "mbar": 1e2, "kPa": 1e3, "psi": 6894.757293168}
ORDER = ["pass", "doubt", "fail"]


def held(start: str, end: str, unit: Unit = "bar", **more: Decimal) -> HoldTest:
    return HoldTest(Decimal(start), Decimal(end), unit, Decimal(5), **more)


def limits(max_drop: str = "0.01", guard: str = "0", **more: object) -> HoldLimits:
    return HoldLimits("bar", Decimal("0.2"), Decimal(max_drop), Decimal(5), Decimal(guard), **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("end", "guard", "verdict"),
    [
        # 0.20 - 0.19 is 0.010000000000000009 in floating point, and would fail.
        ("0.19", "0", "pass"),
        ("0.1899999", "0", "fail"),
        ("0.191", "0.001", "pass"),
        ("0.1909", "0.001", "doubt"),
        ("0.19", "0.001", "doubt"),
        ("0.189", "0.001", "doubt"),
        ("0.1889", "0.001", "fail"),
    ],
)
def test_exact_at_both_edges_of_the_guard(end: str, guard: str, verdict: str) -> None:
    assert judge_hold_test(held("0.20", end), limits(guard=guard)).verdict == verdict


def test_the_simple_rule_ignores_the_guard() -> None:
    on_the_limit = judge_hold_test(held("0.20", "0.19"), limits(guard="0.001", rule="simple"))
    assert (on_the_limit.verdict, on_the_limit.guard) == ("pass", 0)
    assert judge_hold_test(held("0.20", "0.1899"), limits(guard="0.001", rule="simple")).verdict == "fail"


def test_a_reading_in_psi_is_judged_in_psi_by_the_limit_converted() -> None:
    verdict = judge_hold_test(held("2.9", "2.755", "psi"), limits(guard="0.001"))
    assert (verdict.unit, verdict.drop, verdict.verdict) == ("psi", Fraction("0.145"), "doubt")
    assert float(verdict.limit) == pytest.approx(0.01e5 / PASCALS["psi"], rel=1e-9)
    assert float(verdict.guard) == pytest.approx(0.001e5 / PASCALS["psi"], rel=1e-9)
    assert verdict.why == (
        "Dropped 0.145 psi in 5 minutes, against 0.01 bar converted to 0.145 psi with a guard of 0.0145 psi: "
        "in doubt, too near the limit to tell."
    )


def test_a_limit_printed_for_psi_decides_readings_in_psi() -> None:
    printed = limits(
        other_units={"psi": PrintedLimits(Decimal(3), Decimal("0.15"), Decimal(0))}, guard="0.001"
    )
    verdict = judge_hold_test(held("3", "2.85", "psi"), printed)
    assert (verdict.verdict, verdict.limit, verdict.guard) == ("pass", Fraction("0.15"), 0)
    assert verdict.why == "Dropped 0.15 psi in 5 minutes, against 0.15 psi as printed: passes."
    # The same readings against 0.01 bar converted, 0.14504 psi, with its guard: in doubt.
    assert judge_hold_test(held("3", "2.85", "psi"), limits(guard="0.001")).verdict == "doubt"
    # Readings in bar keep to the check's own limit.
    assert judge_hold_test(held("0.2", "0.19"), printed).limit == Fraction("0.01")


def test_what_is_not_printed_for_a_unit_is_converted() -> None:
    only_pressure = limits(other_units={"kPa": PrintedLimits(max_pressure=Decimal(21))}, guard="0.001")
    verdict = judge_hold_test(held("21", "20", "kPa"), only_pressure)
    assert (verdict.limit, verdict.guard, verdict.verdict) == (1, Fraction("0.1"), "doubt")


def test_sentences_name_the_limit_that_was_used() -> None:
    passed = judge_hold_test(held("0.2", "0.195"), limits(guard="0.001"))
    assert passed.why == (
        "Dropped 0.005 bar in 5 minutes, against 0.01 bar as printed with a guard of 0.001 bar: passes."
    )
    failed = judge_hold_test(held("0.2", "0.15"), limits())
    assert failed.why == "Dropped 0.05 bar in 5 minutes, against 0.01 bar as printed: fails."
    assert judge_hold_test(held("0.2", "0.2"), limits()).why.startswith("Did not drop in 5 minutes, against")


def test_a_drop_a_hair_over_the_limit_does_not_read_as_the_limit() -> None:
    warm = held("0.2", "0.19", start_c=Decimal(20), end_c=Decimal("20.00001"))
    verdict = judge_hold_test(warm, limits())
    assert verdict.verdict == "fail"
    assert "Dropped 0.01004 bar" not in verdict.why
    assert "Dropped 0.01000004 bar" in verdict.why


def test_a_rise_passes_and_says_so() -> None:
    verdict = judge_hold_test(held("0.2", "0.203"), limits())
    assert (verdict.verdict, verdict.drop) == ("pass", Fraction("-0.003"))
    assert verdict.why.startswith("Rose 0.003 bar in 5 minutes, against 0.01 bar as printed: passes; ")
    assert "look for warming" in verdict.why


def test_warming_hides_a_leak_and_the_correction_finds_it() -> None:
    by_eye, corrected = held("0.2", "0.2"), held("0.2", "0.2", start_c=Decimal(10), end_c=Decimal(20))
    assert judge_hold_test(by_eye, limits()).verdict == "pass"
    found = judge_hold_test(corrected, limits())
    assert (found.verdict, found.corrected) == ("fail", True)
    assert "corrected for 10 °C at the start and 20 °C at the end" in found.why


def test_a_barometer_that_was_read_takes_the_place_of_the_standard_atmosphere() -> None:
    warm = {"start_c": Decimal(10), "end_c": Decimal(20)}
    standard = judge_hold_test(held("0.2", "0.2", **warm), limits())
    as_standard = judge_hold_test(held("0.2", "0.2", ambient_bar=Decimal("1.01325"), **warm), limits())
    thin_air = judge_hold_test(held("0.2", "0.2", ambient_bar=Decimal("0.9"), **warm), limits())
    assert standard == as_standard
    # By hand: (0.2 + Pa) x (1 - 283.15 / 293.15).
    assert thin_air.drop == Fraction("1.1") * (1 - Fraction("283.15") / Fraction("293.15"))


@pytest.mark.parametrize(
    ("test", "asked", "why", "field"),
    [
        (held("0.2", "0.2"), HoldLimits("bar"), "no max_drop", "max_drop"),
        (held("0.2", "0.2", start_c=Decimal(10)), limits(), "no end_c; write both", "end_c"),
        (held("0.2", "0.2", end_c=Decimal(10)), limits(), "no start_c; write both", "start_c"),
        (
            held("0.2", "0.2", start_c=Decimal(10), end_c=Decimal("-273.15")),
            limits(),
            "at or below absolute zero",
            "end_c",
        ),
        (held("0.2", "NaN"), limits(), "not a number", "end_pressure"),
        (held("1E+5000000", "0.2"), limits(), "not a figure that a gauge shows", "start_pressure"),
    ],
)
def test_what_cannot_be_judged_is_a_fault_with_its_column(
    test: HoldTest, asked: HoldLimits, why: str, field: str
) -> None:
    with pytest.raises(JudgingFault, match=why) as fault:
        judge_hold_test(test, asked)
    assert fault.value.field == field


def test_limits_that_make_no_sense_are_faults() -> None:
    with pytest.raises(JudgingFault, match="guard below zero"):
        limits(guard="-0.001")
    with pytest.raises(JudgingFault, match=r"max_drop is -0\.01"):
        limits(max_drop="-0.01")
    with pytest.raises(JudgingFault, match="max_pressure is -3"):
        limits(other_units={"psi": PrintedLimits(Decimal(-3))})
    with pytest.raises(JudgingFault, match="in bar are there twice"):
        limits(other_units={"bar": PrintedLimits(Decimal(1))})


def test_figures_are_plain_numbers_to_nine_decimals() -> None:
    figures = judge_hold_test(held("2.9", "2.755", "psi"), limits()).figures()
    assert figures == {"drop": 0.145, "limit": 0.145037738, "unit": "psi"}


pressures = st.decimals("0", "3", places=4)
celsius = st.one_of(
    st.none(), st.tuples(st.decimals("-20", "50", places=1), st.decimals("-20", "50", places=1))
)


@given(
    start=pressures,
    end=pressures,
    unit=st.sampled_from(UNITS),
    check_unit=st.sampled_from(UNITS),
    max_drop=st.decimals("0", "1", places=3),
    guard=st.decimals("0", "0.2", places=3),
    simple=st.booleans(),
    degrees=celsius,
)
def test_agrees_with_floating_point_away_from_the_edges(
    start: Decimal,
    end: Decimal,
    unit: Unit,
    check_unit: Unit,
    max_drop: Decimal,
    guard: Decimal,
    simple: bool,
    degrees: tuple[Decimal, Decimal] | None,
) -> None:
    """Worked a second way: all in pascal, absolute, as density at the start and at the end."""
    asked = HoldLimits(check_unit, max_drop=max_drop, guard=guard, rule="simple" if simple else "guarded")
    start_c, end_c = degrees or (None, None)
    got = judge_hold_test(HoldTest(start, end, unit, Decimal(5), start_c, end_c), asked)

    outside = 101325.0
    start_k, end_k = (float(start_c) + 273.15, float(end_c) + 273.15) if degrees else (1.0, 1.0)
    density_lost = (float(start) * PASCALS[unit] + outside) / start_k
    density_lost -= (float(end) * PASCALS[unit] + outside) / end_k
    drop = density_lost * start_k
    limit, width = float(max_drop) * PASCALS[check_unit], float(guard) * PASCALS[check_unit]
    width = 0.0 if simple else width
    assert float(got.drop) * PASCALS[unit] == pytest.approx(drop, abs=1e-4)
    assume(min(abs(drop - limit + width), abs(drop - limit - width)) > 1e-4)
    expected = "pass" if drop <= limit - width else "fail" if drop > limit + width else "doubt"
    assert got.verdict == expected


@given(pressures, pressures, pressures, st.decimals("0", "0.1", places=3), celsius)
def test_a_higher_end_pressure_never_makes_it_worse(
    start: Decimal, one: Decimal, other: Decimal, guard: Decimal, degrees: tuple[Decimal, Decimal] | None
) -> None:
    low, high = sorted((one, other))
    start_c, end_c = degrees or (None, None)
    at = [HoldTest(start, end, "bar", Decimal(5), start_c, end_c) for end in (low, high)]
    lower, higher = (judge_hold_test(test, limits("0.5", str(guard))) for test in at)
    assert higher.drop <= lower.drop
    assert ORDER.index(higher.verdict) <= ORDER.index(lower.verdict)
