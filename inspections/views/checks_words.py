"""The rule of a check in words, and what differs between two versions of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.judging import FormFault
from inspections.limits import form_of
from inspections.models import EVER, Basis, CheckVersion, DecisionRule, Method
from inspections.models.check import RuleColumns
from inspections.views.panels import duration_in_words
from kit.models import Role
from kit.roles import role_said
from kit.tables.marks import short_day

Facts = list[tuple[str, str]]


@dataclass(frozen=True)
class ShownVersion:
    """One version as a page lists it: from when it holds, and what differs from the one before it."""

    version: CheckVersion
    since: str
    differs: list[tuple[str, str, str]]
    to_come: bool


def figure(value: Decimal) -> str:
    """0.200000 as 0.2."""
    return format(value.normalize(), "f")


def rule_in_words(rule: RuleColumns) -> Facts:
    """(what, words) for all that the rule says; what it leaves open is left out."""
    if rule.retired:
        return [(_("Asked for"), _("no more"))]
    return [pair for pair in _lines(rule) if pair[1]]


def differences_in_words(before: RuleColumns | None, after: RuleColumns) -> list[tuple[str, str, str]]:
    """(what, words before, words after) for all in which two rules differ."""
    had = dict(rule_in_words(before)) if before is not None else {}
    has = dict(rule_in_words(after))
    return [
        (what, had.get(what, "–"), has.get(what, "–"))
        for what in dict.fromkeys([*has, *had])
        if had.get(what) != has.get(what)
    ]


def since_in_words(version: CheckVersion) -> str:
    return _("ever") if version.in_force_from == EVER else short_day(version.in_force_from)


def shown_versions(versions: list[CheckVersion], today: Any) -> list[ShownVersion]:
    """All versions of one check, the last to come into force first."""
    listed: list[ShownVersion] = []
    before: CheckVersion | None = None
    for version in sorted(versions, key=lambda each: (each.in_force_from, each.number)):
        differs = differences_in_words(before, version) if before is not None else []
        listed.append(ShownVersion(version, since_in_words(version), differs, version.in_force_from > today))
        before = version
    return listed[::-1]


def _lines(rule: RuleColumns) -> Iterator[tuple[str, str]]:
    yield _("Due"), _due(rule)
    yield _("Called for besides by"), ", ".join(_calls(rule))
    yield _("Goes out without it"), _gates(rule)
    yield _("Asked of"), ", ".join(_scope(rule))
    yield _("Judged by"), _method(rule)
    yield _("Printed for other units"), "; ".join(_other_limits(rule))
    yield _("Read besides"), _readings(rule)
    yield _("Done by"), role_said(rule.done_by) if rule.done_by in Role.values else ""
    yield _("A concession puts it off by"), _days(rule.concession_days) if rule.concession_days else _("none")
    yield _("Where it comes from"), rule.source
    yield _("Procedure"), rule.procedure


def _days(days: int) -> str:
    return ngettext("%(n)s day", "%(n)s days", days) % {"n": days}


def _due(rule: RuleColumns) -> str:
    every = _("every %(interval)s") % {"interval": duration_in_words(rule.interval)}
    if rule.basis != Basis.ANCHOR:
        return _("%(every)s from the day done") % {"every": every}
    grid = _("%(every)s, on a fixed grid") % {"every": every}
    if not rule.early_days:
        return grid
    return _("%(grid)s, early by %(days)s at most") % {"grid": grid, "days": _days(rule.early_days)}


def _calls(rule: RuleColumns) -> Iterator[str]:
    if rule.after_use:
        yield _("a use")
    if rule.after_uses:
        yield ngettext("%(n)s use", "%(n)s uses", rule.after_uses) % {"n": rule.after_uses}
    if rule.after_repair:
        yield _("a repair")
    if rule.after_quarantine:
        yield _("being set aside")
    if rule.after_storage:
        yield _("%(time)s in store without use") % {"time": duration_in_words(rule.after_storage)}


def _gates(rule: RuleColumns) -> str:
    if rule.gates:
        return _("no")
    return (
        _("yes; late, but not missed, for %(days)s") % {"days": _days(rule.grace_days)}
        if rule.grace_days
        else _("yes")
    )


def _scope(rule: RuleColumns) -> Iterator[str]:
    for words, value in (
        (_("mark %(value)s"), rule.mark),
        (_("maker %(value)s"), rule.maker),
        (_("batch %(value)s"), rule.batch),
    ):
        if value:
            yield words % {"value": value}


def _method(rule: RuleColumns) -> str:
    if rule.method == Method.HOLD_TEST:
        return _("hold test: %(limits)s") % {"limits": ", ".join(_hold_limits(rule))}
    if rule.method == Method.CALIBRATION and rule.accuracy_class is not None and rule.span is not None:
        said = _("calibration: class %(class)s of a span of %(span)s %(unit)s") % {
            "class": figure(rule.accuracy_class),
            "span": figure(rule.span),
            "unit": rule.unit,
        }
        return ", ".join([said, *_guard(rule)])
    return _("what the form finds") if rule.form else _("a verdict given by whoever does it")


def _hold_limits(rule: RuleColumns) -> Iterator[str]:
    unit = rule.unit
    if rule.max_pressure is not None:
        yield _("at most %(figure)s %(unit)s") % {"figure": figure(rule.max_pressure), "unit": unit}
    if rule.hold_minutes is not None:
        yield _("held %(figure)s minutes") % {"figure": figure(rule.hold_minutes)}
    if rule.max_drop is not None:
        yield _("drop at most %(figure)s %(unit)s") % {"figure": figure(rule.max_drop), "unit": unit}
    yield from _guard(rule)


def _guard(rule: RuleColumns) -> Iterator[str]:
    if rule.guard:
        said = {"figure": figure(rule.guard), "unit": rule.unit}
        yield (
            _("guard %(figure)s %(unit)s: within it is a doubt") % said
            if rule.decision == DecisionRule.GUARDED
            else _("guard %(figure)s %(unit)s, not applied: the limit alone decides") % said
        )


def _other_limits(rule: RuleColumns) -> Iterator[str]:
    words = {
        "max_pressure": _("at most %(figure)s %(unit)s"),
        "max_drop": _("drop at most %(figure)s %(unit)s"),
        "guard": _("guard %(figure)s %(unit)s"),
    }
    for unit, limits in sorted(rule.other_limits.items()):
        printed = [words[name] % {"figure": limits[name], "unit": unit} for name in words if limits.get(name)]
        if printed and unit != rule.unit:
            yield ", ".join(printed)


def _readings(rule: RuleColumns) -> str:
    if not rule.form:
        return ""
    try:
        labels = [field.label for field in form_of(rule).fields]
    except FormFault as fault:
        return str(fault)
    return "; ".join(labels)
