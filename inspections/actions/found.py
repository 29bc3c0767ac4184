"""The checks shipped with a new register: common practice, no source, unless one is named; a depot sets its own."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from inspections.actions.check_specs import CheckSpec
from inspections.actions.regimes import set_checks
from inspections.judging import shipped_form
from kit.models import Kind
from kit.stores import Act

PRACTICE = "common practice, no source"

# LOLER 1998 regulation 9(3)(a): lifting accessories every 6 months (from memory). A restraint chain that lifts
# nothing is not in its scope; a person decides, 6 months is the shipped starting point. From the day done, because
# on a grid two examinations may lie further apart than the interval by the early days.
SHIPPED: dict[str, tuple[CheckSpec, ...]] = {
    # 0.2 bar (about 3 psi) at most, held five minutes: common practice, as is the drop that may be read, which a
    # depot should set to what its bags and gauges allow. Gauges marked in psi have limits of their own in psi.
    "bag": (
        CheckSpec(
            "hold test and visual",
            "P6M",
            source=PRACTICE,
            method="hold test",
            unit="bar",
            max_pressure=Decimal("0.2"),
            max_drop=Decimal("0.01"),
            hold_minutes=Decimal(5),
            other_limits={"psi": {"max_pressure": "3", "max_drop": "0.15"}},
        ),
    ),
    "bag tube": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "control head": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "bagging head": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "nose": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "base": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "vent head": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "vent stack": (CheckSpec("visual", "P12M", source=PRACTICE),),
    "bypass set": (CheckSpec("visual and leak test", "P6M", source=PRACTICE),),
    "gauge": (CheckSpec("calibration", "P12M", basis="anchor", early_days=30, source=PRACTICE),),
    "gas detector": (CheckSpec("calibration", "P6M", source=PRACTICE),),
    "pump": (CheckSpec("inspection", "P12M", source=PRACTICE),),
    "chain set": (
        CheckSpec(
            "thorough examination",
            "P6M",
            source="LOLER 1998 reg. 9(3)(a) where it lifts; from memory",
        ),
    ),
    "hand tool": (CheckSpec("visual", "P12M", gates=False, source=PRACTICE),),
}


def found_checks(act: Act) -> None:
    """Write the shipped checks of the shipped kinds."""
    kinds = {kind.name: kind for kind in Kind.objects.all()}
    for name, specs in SHIPPED.items():
        if name in kinds:
            set_checks(
                act, kinds[name], [_with_form(name, spec) for spec in specs], derive=False, shipped=True
            )


def _with_form(kind: str, spec: CheckSpec) -> CheckSpec:
    """With the form that is shipped for it, unless its verdict comes from other readings."""
    form = None if spec.method else shipped_form(kind, spec.name)
    return replace(spec, form=form.as_json()) if form else spec
