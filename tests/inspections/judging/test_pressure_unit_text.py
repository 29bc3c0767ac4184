"""Units and figures as people write and read them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import UnitFault, convert, read_unit
from inspections.judging.units import written, written_apart


@pytest.mark.parametrize(
    ("text", "unit"),
    [("bar", "bar"), (" BAR ", "bar"), ("mBar", "mbar"), ("kpa", "kPa"), ("K PA", "kPa"), ("PSI\n", "psi")],
)
def test_case_and_spaces_are_forgiven(text: str, unit: str) -> None:
    assert read_unit(text) == unit


@pytest.mark.parametrize("text", ["", "  ", "pa", "MPa", "bars", "psig", "psi bar", "inHg"])
def test_another_unit_is_a_sentence_that_names_those_there_are(text: str) -> None:
    with pytest.raises(UnitFault, match=r"write bar, mbar, kPa or psi\.") as fault:
        read_unit(text)
    assert fault.value.field == "unit"


def test_conversion_takes_only_known_units() -> None:
    with pytest.raises(UnitFault, match="'MPa'"):
        convert(1, "bar", "MPa")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Decimal("0.010"), "0.01"),
        (Decimal("5E+2"), "500"),
        (Decimal("1E-7"), "0.0000001"),
        (Decimal("-0.25"), "-0.25"),
        (Decimal("-0"), "0"),
        (Fraction(1, 3), "0.3333"),
        (Fraction(20000, 3), "6667"),
    ],
)
def test_figures_have_no_exponent_and_no_end_zeros(value: Decimal | Fraction, text: str) -> None:
    assert written(value) == text


@given(st.lists(st.integers(1, 10**5).map(lambda n: Fraction(n, 3 * 10**5)), min_size=2, max_size=4))
def test_different_figures_read_differently(values: list[Fraction]) -> None:
    assert len(set(written_apart(values))) == len(set(values))


def test_close_figures_get_as_many_digits_as_it_takes() -> None:
    third, nearby = Fraction(1, 3), Fraction(100_001, 300_000)
    assert written_apart([third, Fraction(1, 2)]) == ["0.3333", "0.5"]
    assert written_apart([third, nearby]) == ["0.33333", "0.33334"]
