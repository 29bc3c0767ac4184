"""Acceptance, rejection and doubt at a limit, as ISO 14253-1 and ILAC-G8 draw the zones (from memory).

ISO 14253-1: kept is proved where the measured value lies inside the limit by the expanded uncertainty U or more,
broken is proved where it lies outside by more than U; between them neither is proved. ILAC-G8:09/2019 calls
w = U the guard band, and w = 0 simple acceptance.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import HoldLimits, JudgingFault, guard_of_difference, worst, zone

hundredths = st.integers(-500, 500).map(lambda n: Fraction(n, 100))
guards = st.integers(0, 200).map(lambda n: Fraction(n, 100))


@pytest.mark.parametrize(
    ("value", "verdict"),
    [("8.99", "pass"), ("9", "pass"), ("9.01", "doubt"), ("10", "doubt"), ("11", "doubt"), ("11.01", "fail")],
)
def test_zones_of_a_limit_of_ten_known_to_one(value: str, verdict: str) -> None:
    """By hand, from the two standards named above: limit 10, U = 1."""
    assert zone(Fraction(value), Fraction(10), Fraction(1)) == verdict


@pytest.mark.parametrize(("value", "verdict"), [("9.99", "pass"), ("10", "pass"), ("10.01", "fail")])
def test_simple_acceptance_has_no_zone_of_doubt(value: str, verdict: str) -> None:
    """ILAC-G8, simple acceptance: w = 0."""
    assert zone(Fraction(value), Fraction(10), Fraction(1), "simple") == verdict


@given(hundredths, hundredths, guards)
def test_a_pass_or_a_fail_holds_wherever_the_true_value_lies(
    value: Fraction, limit: Fraction, guard: Fraction
) -> None:
    """What the guard is for: a pass is kept even U higher, a fail is broken even U lower; a doubt is neither."""
    kept_at_worst, broken_at_best = value + guard <= limit, value - guard > limit
    expected = "pass" if kept_at_worst else "fail" if broken_at_best else "doubt"
    assert zone(value, limit, guard) == expected


@given(hundredths, hundredths, hundredths, guards)
def test_more_is_never_better(low: Fraction, high: Fraction, limit: Fraction, guard: Fraction) -> None:
    low, high = sorted((low, high))
    order = ["pass", "doubt", "fail"]
    assert order.index(zone(low, limit, guard)) <= order.index(zone(high, limit, guard))


def test_a_guard_below_zero_and_an_unknown_rule_are_faults() -> None:
    with pytest.raises(JudgingFault, match="below zero"):
        zone(Fraction(1), Fraction(2), Fraction(-1))
    with pytest.raises(JudgingFault, match="write guarded or simple"):
        zone(Fraction(1), Fraction(2), Fraction(1), "strict")  # type: ignore[arg-type]


def test_two_readings_of_one_gauge_are_known_to_root_two_of_its_uncertainty() -> None:
    """Source: GUM, JCGM 100:2008, 5.1.2 (from memory): independent contributions add as squares."""
    guard = guard_of_difference(Decimal("0.001"))
    assert float(guard) == pytest.approx((0.001**2 + 0.001**2) ** 0.5, rel=1e-15)


def test_the_worst_of_several_verdicts() -> None:
    assert worst(["pass", "doubt", "fail", "pass"]) == "fail"
    assert worst(["pass", "doubt"]) == "doubt"
    assert worst(["pass"]) == worst([]) == "pass"


def test_a_guard_of_a_difference_can_be_the_guard_of_a_check() -> None:
    limits = HoldLimits("bar", max_drop=Decimal("0.01"), guard=guard_of_difference(Decimal("0.001")))
    assert float(limits.guard_in("bar")) == pytest.approx(0.0014142135623731)
