"""The depots' own checks and settings of kinds, as the sheets Checks and Kinds hand them over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from demo_fixtures.depots import QUARTER_MAKER

PRACTICE: Final = "depot's own rule; common practice, no source"


@dataclass(frozen=True, slots=True)
class Regime:
    """A check of a kind that falls due every so many months."""

    kind: str
    check: str
    months: int
    basis: Literal["done", "anchor"] = "done"
    early_days: int = 0
    gates: bool = True
    after_use: bool = False
    source: str = PRACTICE
    # How its readings are judged: values of further columns of the sheet Checks.
    judged: Mapping[str, str | float] = field(default_factory=dict)


HOLD: Final = {
    "method": "hold test",
    "unit": "bar",
    "max_pressure": 0.2,
    "max_drop": 0.01,
    "hold_minutes": 5,
    "guard": 0.002,
}
"""0.2 bar (about 3 psi) at most, held five minutes: common practice. The drop is what this depot allows."""
HOLD_IN_PSI: Final = {"unit": "psi", "max_pressure": 3, "max_drop": 0.15, "guard": 0.03}
"""The same printed for gauges that read in psi: a row of its own, the rest left blank."""
DIAL: Final = {"method": "calibration", "unit": "bar", "guard": 0.0006, "accuracy_class": 1.6, "span": 0.4}
"""Dials of 0 to 0.4 bar, class 1.6: 0.0064 bar at most (EN 837-1)."""

REGIMES: Final = (
    Regime("bag", "hold test and visual", 6, after_use=True, judged=HOLD),
    Regime("bag", "detailed inspection", 12),
    Regime("bag tube", "inspection", 12),
    Regime("control head", "inspection", 12),
    Regime("bagging head", "inspection", 12),
    Regime("nose", "inspection", 12),
    Regime("base", "inspection", 12),
    Regime("vent head", "inspection", 12),
    Regime("bypass set", "visual and leak test", 6),
    Regime("gauge", "calibration", 12, "anchor", 30, judged=DIAL),
    Regime("gauge", "zero check", 1, gates=False),
    Regime("pressure recorder", "calibration", 12, "anchor", 30),
    Regime("gas detector", "calibration", 6),
    Regime("pump", "inspection", 12),
    Regime(
        "chain set",
        "thorough examination",
        6,
        "anchor",
        28,
        source="LOLER 1998 reg. 9(3)(a) where it lifts; from memory",
    ),
    Regime("hand tool", "visual", 12, gates=False),
)
WITHOUT_CHECKS: Final = ("vent stack",)

KIND_COLUMNS: Final = (
    "kind", "counted", "bore", "mark", "serial", "batch", "use_by", "short_date", "maker", "turn_round_days",
    "margin_days",
)  # fmt: skip
KIND_ROWS: Final = (
    ("bag", "no", "yes", "no", "yes", "yes", "yes", None, None, 1, 0),
    ("bag", None, None, None, None, None, None, "quarter", QUARTER_MAKER, None, None),
    ("seal", None, None, None, None, None, None, "quarter", QUARTER_MAKER, None, None),
    ("pressure recorder", "no", "no", "no", "yes", "no", "no", None, None, 0, 0),
)
"""A day to dry and look over each bag between jobs; what 3/28 means on one maker's labels; one new kind."""


def regimes_of(kind: str) -> tuple[Regime, ...]:
    return tuple(regime for regime in REGIMES if regime.kind == kind)
