"""Pass, fail or doubt against an upper limit, when the reading itself is only known so well.

The idea is that of ISO 14253-1 and ILAC-G8: around a limit lies a guard band, as wide as the expanded uncertainty U
of what is compared with it. Below the band the limit is surely kept, above it surely broken, within it
nobody can tell, and a person decides. The simple rule (ILAC-G8's "simple acceptance") has no band.

All judging is exact: fractions in, compared as fractions, so that 0.20 - 0.19 against 0.01 passes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from inspections.judging.records import Verdict

DecisionRule = Literal["guarded", "simple"]
DECISION_RULES: tuple[DecisionRule, ...] = ("guarded", "simple")

# How the sentence of a verdict ends.
VERDICT_WORDS: Mapping[Verdict, str] = {
    "pass": "passes",
    "fail": "fails",
    "doubt": "in doubt, too near the limit to tell",
}

# No gauge shows, and no guard needs, more digits than these; past them a page of digits would be worked out exactly.
_GREATEST_EXPONENT = 9
_SMALLEST_EXPONENT = -40


class JudgingFault(ValueError):
    """What cannot be judged as it stands; its words say why. `field` is the column it lies in, or ""."""

    def __init__(self, text: str, field: str = "") -> None:
        super().__init__(text)
        self.field = field


def exactly(value: Decimal | Fraction | int, field: str = "") -> Fraction:
    """`value` without rounding. Raises JudgingFault for NaN, infinity and a figure that no gauge shows."""
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise JudgingFault(f"{value} is not a number that can be judged; write the figure read.", field)
        exponent = value.as_tuple().exponent
        assert isinstance(exponent, int)
        if exponent < _SMALLEST_EXPONENT or (value and value.adjusted() > _GREATEST_EXPONENT):
            raise JudgingFault(f"{value} is not a figure that a gauge shows; write the figure read.", field)
    return Fraction(value)


def applied_guard(guard: Fraction, rule: DecisionRule) -> Fraction:
    """Half the width of the doubt zone: the guard, or 0 under the simple rule. JudgingFault below zero."""
    if guard < 0:
        raise JudgingFault("A guard below zero would pass what is over the limit; write 0 or more.", "guard")
    if rule not in DECISION_RULES:
        raise JudgingFault(f"The rule {rule!r} is not known; write guarded or simple.", "rule")
    return guard if rule == "guarded" else Fraction(0)


def zone(
    value: Fraction, limit: Fraction, guard: Fraction = Fraction(0), rule: DecisionRule = "guarded"
) -> Verdict:
    """Where `value` lies against an upper `limit`, all in one unit: both edges of the doubt zone belong to
    the better verdict on the pass side and to doubt on the fail side.

    pass: value <= limit - guard. fail: value > limit + guard. doubt: between.
    """
    width = applied_guard(guard, rule)
    if value <= limit - width:
        return "pass"
    return "fail" if value > limit + width else "doubt"


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """A fail if any is, else a doubt if any is, else a pass (of none, too)."""
    found = set(verdicts)
    if "fail" in found:
        return "fail"
    return "doubt" if "doubt" in found else "pass"


def guard_of_difference(uncertainty: Decimal) -> Decimal:
    """The guard for a difference of two readings of one gauge: sqrt(2) x U, in the unit of `uncertainty`.

    U is the expanded uncertainty of one reading; two independent readings add as squares (GUM, JCGM 100:2008,
    5.1.2). What both readings share, such as an offset of the gauge, cancels: so this is on the careful side.
    """
    return Decimal(2).sqrt() * uncertainty
