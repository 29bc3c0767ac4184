"""A record as people read it, on a screen or on paper: readings, figures with their units, points. Reads only."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from inspections.judging import (
    Calibration,
    Form,
    FormFault,
    HoldTest,
    JudgingFault,
    judge_calibration,
    judge_hold_test,
)
from inspections.judging.units import written, written_apart
from inspections.limits import calibration_limits, hold_limits, stated_in
from inspections.models import Inspection, Method
from kit.models import State
from kit.numbers import with_separator

Pairs = list[tuple[Any, Any]]


def figure(value: Decimal | Fraction) -> str:
    """A number as it was read or computed, with the separator of the reader's language."""
    return with_separator(written(value))


def shown(record: Inspection) -> dict[str, Any]:
    """What `bench/verdict.html` needs."""
    item = record.item
    return {
        "record": record,
        "item": item,
        "verdict": record.verdict,
        "why": record.why or record.note,
        "figures": figures_of(record),
        "set_aside": item.state == State.QUARANTINED,
        "as_left": record.as_left,
    }


def figures_of(record: Inspection) -> Pairs:
    """The figures computed from the readings, by the rule that judged them, with their units."""
    version, readings = record.version, record.readings
    if version is None or not readings:
        return []
    try:
        if readings["method"] == Method.HOLD_TEST:
            test = HoldTest.from_json(readings["test"])
            verdict = judge_hold_test(test, hold_limits(version, stated_in(readings)))
            drop, limit = written_apart([abs(verdict.drop), verdict.limit])
            pairs: Pairs = [
                (_("Rise") if verdict.drop < 0 else _("Drop"), with_separator(f"{drop} {test.unit}")),
                (_("Most allowed"), with_separator(f"{limit} {test.unit}")),
            ]
            if verdict.guard:
                pairs.append((_("Guard"), f"{figure(verdict.guard)} {test.unit}"))
            return [*pairs, (_("Held for"), _("%(n)s minutes") % {"n": figure(test.minutes)})]
        if readings["method"] == Method.CALIBRATION:
            calibration = Calibration.from_json(readings["calibration"])
            judged = judge_calibration(calibration, calibration_limits(version))
            error, most = written_apart([judged.max_error, judged.permissible])
            pairs = [
                (_("Greatest error as found"), with_separator(f"{error} {judged.unit}")),
                (_("Permissible"), with_separator(f"{most} {judged.unit}")),
            ]
            if judged.hysteresis is not None:
                pairs.append((_("Hysteresis"), f"{figure(judged.hysteresis)} {judged.unit}"))
            if judged.guard:
                pairs.append((_("Guard"), f"{figure(judged.guard)} {judged.unit}"))
            return pairs
        form = Form.from_json(version.form)
        return [
            (field.label, with_separator(f"{record.figures[field.name]:g} {field.printed_unit}".strip()))
            for field in form.fields
            if field.name in record.figures
        ]
    except (JudgingFault, FormFault, KeyError, TypeError):
        # A record that cannot be computed anew shows what was computed then; `verdicts` names it.
        return [(name, value) for name, value in record.figures.items()]


def readings_of(record: Inspection) -> Pairs:
    """The readings as they were entered, with units."""
    readings, version = record.readings, record.version
    if not readings:
        return []
    if readings["method"] == Method.HOLD_TEST:
        test = HoldTest.from_json(readings["test"])
        pairs: Pairs = [
            (_("Start pressure"), f"{figure(test.start_pressure)} {test.unit}"),
            (_("End pressure"), f"{figure(test.end_pressure)} {test.unit}"),
            (_("Held for"), _("%(n)s minutes") % {"n": figure(test.minutes)}),
        ]
        for label, celsius in (
            (_("Temperature at the start"), test.start_c),
            (_("Temperature at the end"), test.end_c),
        ):
            if celsius is not None:
                pairs.append((label, f"{figure(celsius)} °C"))
        if test.ambient_bar is not None:
            pairs.append((_("Barometer"), f"{figure(test.ambient_bar)} bar"))
        return pairs
    if readings["method"] == Method.CALIBRATION:
        return []
    labels = {}
    if version is not None and version.form:
        labels = {field.name: field for field in Form.from_json(version.form).fields}
    return [
        (
            labels[name].label if name in labels else name,
            with_separator(f"{answer} {labels[name].printed_unit}".strip()) if name in labels else answer,
        )
        for name, answer in readings["answers"].items()
    ]


def points_of(record: Inspection) -> list[dict[str, str]]:
    """The points of a calibration with their errors, as text; none for other records."""
    if record.readings.get("method") != Method.CALIBRATION:
        return []
    calibration = Calibration.from_json(record.readings["calibration"])

    def text(value: Decimal | Fraction | None) -> str:
        return "" if value is None else figure(value)

    return [
        {
            "direction": point.direction,
            "reference": f"{figure(point.reference)} {calibration.unit}",
            "as_found": text(point.as_found),
            "found_error": _error(point.as_found, point.reference),
            "as_left": text(point.as_left),
            "left_error": _error(point.as_left, point.reference),
        }
        for point in calibration.points
    ]


def _error(indicated: Decimal | None, reference: Decimal) -> str:
    if indicated is None:
        return ""
    error = indicated - reference
    return f"{'+' if error > 0 else ''}{figure(error)}"
