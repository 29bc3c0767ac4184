"""The units that bench gauges are read in, converted without rounding, and figures written for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Context, Decimal
from fractions import Fraction
from typing import Literal

from inspections.judging.decision import JudgingFault, exactly

Unit = Literal["bar", "mbar", "kPa", "psi"]

# Pascal in one of each, exactly: psi from the international pound and inch and the standard acceleration of
# gravity (0.45359237 kg, 0.0254 m, 9.80665 m/s2; NIST SP 811, appendix B).
PASCALS: Mapping[Unit, Fraction] = {
    "bar": Fraction(100_000),
    "psi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
    "kPa": Fraction(1_000),
    "mbar": Fraction(100),
}
UNITS: tuple[Unit, ...] = ("bar", "mbar", "kPa", "psi")
_BY_TEXT: Mapping[str, Unit] = {unit.casefold(): unit for unit in UNITS}

# The standard atmosphere (ISO 2533): absolute pressure outside the bag where no barometer was read.
AMBIENT_BAR = Decimal("1.01325")

# A figure of this many digits or fewer is written whole; a longer one is rounded to the digits of a dial.
_DIGITS_IN_FULL = 8
_DIGITS_OF_A_DIAL = 4
_DIGITS_AT_MOST = 12


class UnitFault(JudgingFault):
    """A text that is no unit of pressure used here; its words say which are."""


def read_unit(text: str) -> Unit:
    """The unit that `text` names, case and spaces forgiven; raises UnitFault, in a sentence, for another."""
    unit = _BY_TEXT.get("".join(text.split()).casefold())
    if unit is None:
        written = text.strip()
        raise UnitFault(
            f"{written!r} is not a unit that gauges are read in here; write bar, mbar, kPa or psi."
            if written
            else "The unit is empty, and a pressure says nothing without one; write bar, mbar, kPa or psi.",
            "unit",
        )
    return unit


def convert(value: Decimal | Fraction | int, from_unit: Unit, to_unit: Unit) -> Fraction:
    """`value` of `from_unit` in `to_unit`, exact. Raises UnitFault for a unit that is not one of UNITS."""
    for unit in (from_unit, to_unit):
        if unit not in PASCALS:
            raise UnitFault(f"{unit!r} is not one of bar, mbar, kPa and psi.", "unit")
    return exactly(value) * PASCALS[from_unit] / PASCALS[to_unit]


def written(value: Decimal | Fraction, digits: int = _DIGITS_OF_A_DIAL) -> str:
    """`value` for a person: in full up to eight digits, else rounded to `digits`; no exponent, no end zeros."""
    exact = exactly(value)
    in_full = _rounded(exact, _DIGITS_IN_FULL)
    shown = in_full if Fraction(in_full) == exact else _rounded(exact, digits)
    return format(shown.normalize(), "f") if shown else "0"


def written_apart(values: Sequence[Fraction]) -> list[str]:
    """`values` written with as many digits as it takes for different ones to read differently.

    A drop a hair over its limit must not read as if it were the limit.
    """
    texts: list[str] = []
    for digits in range(_DIGITS_OF_A_DIAL, _DIGITS_AT_MOST + 1):
        texts = [written(value, digits) for value in values]
        if len(set(texts)) == len(set(values)):
            break
    return texts


def _rounded(value: Fraction, digits: int) -> Decimal:
    return Context(prec=digits).divide(Decimal(value.numerator), Decimal(value.denominator))
