"""A calibration as a grid: one row a pressure, what the gauge showed going up and coming down, as found and as left."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.forms.readings import UNIT_CHOICES, ReadingField
from inspections.judging import Calibration, Point, PointFault
from inspections.judging.units import written
from inspections.models.check import RuleColumns
from kit.forms.item import LineField
from kit.forms.item_acts import day_input

USUAL_PERCENT = (0, 25, 50, 75, 100)
"""Points of the span that are read, in %: common practice, no source."""
SPARE_ROWS = 3
COLUMNS = ("up_as_found", "down_as_found", "up_as_left", "down_as_left")
SIDES = ("as_found", "as_left")


class CalibrationForm(forms.Form):
    """Empty cells are points that were not read. `points` of a valid form gives the calibration."""

    unit = forms.ChoiceField(label=gettext_lazy("Read in"), choices=UNIT_CHOICES)
    done_on = forms.DateField(label=gettext_lazy("Done on"), widget=day_input())
    reference_instrument = LineField(
        label=gettext_lazy("Reference instrument"),
        max_length=120,
        help_text=gettext_lazy("Its tag or serial: what the gauge was compared with."),
    )
    uncertainty = ReadingField(
        label=gettext_lazy("Uncertainty of the comparison"),
        required=False,
        help_text=gettext_lazy(
            "Expanded (k = 2), in the unit read, as the certificate states it. It widens the guard of this "
            "calibration, and is the guard of hold tests on this gauge whose check sets none of its own."
        ),
    )
    certificate = LineField(label=gettext_lazy("Certificate"), max_length=120, required=False)
    by = LineField(
        label=gettext_lazy("Done by"),
        max_length=150,
        required=False,
        help_text=gettext_lazy("A laboratory, or somebody else than you."),
    )
    note = LineField(label=gettext_lazy("What was done to it"), max_length=300, required=False)

    def __init__(self, *args: Any, rule: RuleColumns, **more: Any) -> None:
        initial = {"done_on": timezone.localdate(), "unit": rule.unit, **more.pop("initial", {})}
        super().__init__(*args, initial=initial, **more)
        self.class_words = written(rule.accuracy_class) if rule.accuracy_class and rule.span else ""
        self.span_words = written(rule.span) if rule.span else ""
        usual = _usual_references(rule)
        self.rows = range(len(usual) + SPARE_ROWS)
        for row in self.rows:
            label = usual[row] if row < len(usual) else _("further point %(n)s") % {"n": row + 1}
            self._add(f"reference_{row}", _("Reference, row %(n)s") % {"n": row + 1})
            self.fields[f"reference_{row}"].initial = usual[row] if row < len(usual) else ""
            for column, words in zip(COLUMNS, _column_words(), strict=True):
                self._add(f"{column}_{row}", f"{words}, {label}")

    def _add(self, name: str, label: str) -> None:
        field = ReadingField(label=label, required=False)
        field.widget.attrs["aria-label"] = label
        self.fields[name] = field

    @property
    def grid(self) -> list[list[Any]]:
        """The cells, row by row."""
        return [[self[f"{name}_{row}"] for name in ("reference", *COLUMNS)] for row in self.rows]

    @property
    def others(self) -> list[Any]:
        return [
            self[name]
            for name in (
                "unit",
                "done_on",
                "reference_instrument",
                "uncertainty",
                "certificate",
                "by",
                "note",
            )
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for row in self.rows:
            read = any(data.get(f"{column}_{row}") is not None for column in COLUMNS)
            if read and data.get(f"reference_{row}") is None and f"reference_{row}" not in self.errors:
                self.add_error(f"reference_{row}", _("Row %(n)s has no reference pressure.") % {"n": row + 1})
        return data

    @property
    def calibration(self) -> Calibration:
        return Calibration(self.cleaned_data["unit"], tuple(point for point, _row in self._points()))

    def _points(self) -> list[tuple[Point, int]]:
        """Up in the order of the rows, then down the other way, as they are read; each with its row."""
        data = self.cleaned_data
        found: list[tuple[Point, int]] = []
        for direction, rows in (("up", self.rows), ("down", reversed(self.rows))):
            for row in rows:
                sides: dict[str, Decimal | None] = {
                    side: data.get(f"{direction}_{side}_{row}") for side in SIDES
                }
                if any(value is not None for value in sides.values()):
                    point = Point(
                        direction,  # type: ignore[arg-type]
                        data[f"reference_{row}"],
                        sides["as_found"],
                        sides["as_left"],
                        data.get("uncertainty"),
                    )
                    found.append((point, row))
        return found

    def put_faults(self, faults: tuple[PointFault, ...]) -> None:
        """Each fault at its cell."""
        points = self._points()
        for fault in faults:
            name = fault.field
            if fault.position is not None:
                point, row = points[fault.position]
                name = f"reference_{row}" if name == "reference" else f"{point.direction}_{name}_{row}"
            self.add_error(name if name in self.fields else None, fault.text)

    @property
    def full_note(self) -> str:
        said = _("Compared with %(instrument)s.") % {"instrument": self.cleaned_data["reference_instrument"]}
        return f"{said} {self.cleaned_data['note']}".strip()


def _column_words() -> list[str]:
    return [_("up, as found"), _("down, as found"), _("up, as left"), _("down, as left")]


def _usual_references(rule: RuleColumns) -> list[str]:
    if rule.span is None:
        return ["" for _percent in USUAL_PERCENT]
    return [written(rule.span * percent / 100) for percent in USUAL_PERCENT]
