"""Units of pressure against published values and a library of units."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import AMBIENT_BAR, UNITS, Unit, convert, read_unit

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}
# Of the pressures in values.json, those between units that gauges are read in here.
PRESSURES = ["unit-3psi-bar", "unit-0.2bar-psi", "unit-0.2bar-kilopascal"]
PINT = pint.UnitRegistry()

pressures = st.decimals(min_value=0, max_value=1000, places=4, allow_nan=False, allow_infinity=False)
units = st.sampled_from(UNITS)


@pytest.mark.parametrize("name", PRESSURES)
def test_pressures_agree_with_published_values(name: str) -> None:
    """Source: values.json (NIST SP 811 factors, worked by the library pint 0.25.3)."""
    value = VALUES[name]
    amount, given_unit, _, wanted = value["inputs"].split()
    to_unit = read_unit(wanted.replace("kilopascal", "kPa"))
    got = convert(Decimal(amount), read_unit(given_unit), to_unit)
    assert float(got) == pytest.approx(value["expected"], abs=value["tolerance"])


def test_a_psi_in_pascal_is_the_published_figure() -> None:
    """Source: values.json, and the factor 6.894757 kPa of NIST SP 811, appendix B, to its seven digits."""
    pascal = convert(1, "psi", "kPa") * 1000
    value = VALUES["unit-1psi-pascal"]
    assert float(pascal) == pytest.approx(value["expected"], abs=value["tolerance"])
    assert round(float(pascal) / 1000, 6) == 6.894757


def test_units_agree_with_the_constants_of_scipy() -> None:
    """Source: scipy.constants (bar, psi and atmosphere in pascal)."""
    assert float(convert(1, "bar", "kPa")) * 1000 == scipy.constants.bar
    assert float(convert(1, "psi", "kPa")) * 1000 == pytest.approx(scipy.constants.psi, rel=1e-14)
    assert float(convert(AMBIENT_BAR, "bar", "kPa")) * 1000 == scipy.constants.atm


@given(pressures, units, units)
def test_every_conversion_agrees_with_pint(value: Decimal, from_unit: Unit, to_unit: Unit) -> None:
    """Source: the library pint, in floating point."""
    expected = PINT.Quantity(float(value), from_unit).to(to_unit).magnitude
    assert float(convert(value, from_unit, to_unit)) == pytest.approx(expected, rel=1e-12)


@given(pressures, units, units, units)
def test_there_and_back_loses_nothing(value: Decimal, first: Unit, second: Unit, third: Unit) -> None:
    """Exact: by any way round, the very same figure comes back."""
    there = convert(convert(value, first, second), second, third)
    assert there == convert(value, first, third)
    assert convert(there, third, first) == Fraction(value)
