"""What no rule of a check may be, in sentences."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inspections.judging import FormFault, Interval, IntervalFault, JudgingFault, Rule
from inspections.limits import calibration_limits, form_of, hold_limits
from inspections.models import Check, Method
from kit.models import Kind, Role
from kit.stores import NotAllowed

UNITS = ("bar", "mbar", "kPa", "psi")


def refuse_rule(kind: Kind, name: str, columns: Mapping[str, Any]) -> None:
    """Raise NotAllowed if these columns are no rule that could be followed."""
    if not name.strip():
        raise NotAllowed(f"A check of {kind} needs a name.")
    if name.casefold() == "use-by":
        raise NotAllowed("The use-by date is kept of every item beside its checks: call the check otherwise.")
    if not columns["interval"]:
        raise NotAllowed(f"{name} of {kind} needs an interval: write for example P6M (six months).")
    try:
        Rule(name, Interval.parse(columns["interval"]), columns["basis"], columns["early_days"])
        if columns["after_storage"]:
            Interval.parse(columns["after_storage"])
    except (IntervalFault, ValueError) as fault:
        raise NotAllowed(f"{name} of {kind}: {fault}") from fault
    if columns["gates"] and columns["grace_days"]:
        raise NotAllowed(
            f"{name} of {kind} has {columns['grace_days']} days of grace and gates: a piece past its gate does not go "
            "out. Take away the grace, or let the check not gate."
        )
    if columns["done_by"] and columns["done_by"] not in Role.values:
        raise NotAllowed(f"{name} of {kind}: there is no role {columns['done_by']}.")
    _refuse_limits(kind, name, columns)
    _refuse_readings(kind, name, columns)


def _refuse_limits(kind: Kind, name: str, columns: Mapping[str, Any]) -> None:
    for column in ("max_pressure", "max_drop", "hold_minutes", "guard", "accuracy_class", "span"):
        value = columns[column]
        if value is not None and (value < 0 or (value == 0 and column not in ("max_drop", "guard"))):
            raise NotAllowed(
                f"{name} of {kind}: {column.replace('_', ' ')} is {value}; write a number above 0."
            )
    needs = {
        Method.HOLD_TEST: ("unit", "max_drop"),
        Method.CALIBRATION: ("unit", "accuracy_class", "span"),
    }.get(columns["method"], ())
    missing = [column for column in needs if columns[column] in (None, "")]
    if missing:
        raise NotAllowed(
            f"{name} of {kind} is a {columns['method']}, and its verdict cannot be computed without "
            f"{', '.join(column.replace('_', ' ') for column in missing)}: give them, or make it plain."
        )
    if columns["unit"] and columns["unit"] not in UNITS:
        raise NotAllowed(
            f"{name} of {kind}: {columns['unit']} is no unit that gauges here are read in; write bar, mbar, kPa or psi."
        )


def _refuse_readings(kind: Kind, name: str, columns: Mapping[str, Any]) -> None:
    """What judging itself refuses to judge by: limits printed for other units, a form."""
    rule = Check(**columns)
    try:
        if rule.method == Method.HOLD_TEST:
            hold_limits(rule)
        elif rule.method == Method.CALIBRATION:
            calibration_limits(rule)
        if rule.form:
            form_of(rule)
    except (FormFault, JudgingFault) as fault:
        raise NotAllowed(f"{name} of {kind}: {fault}") from fault
