"""A record as it was entered, to be put right: the fields that its method reads, filled with what stands there."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.actions.calibrations import BadPoints
from inspections.actions.correct import Entered, entered
from inspections.actions.form_checks import BadAnswers
from inspections.actions.hold_tests import NotEvidence
from inspections.forms.answers import AnswersMixin
from inspections.forms.findings import VERDICTS
from inspections.forms.readings import UNIT_CHOICES, ReadingField
from inspections.judging import Calibration, Form, HoldTest
from inspections.judging.units import written
from inspections.models import Inspection
from kit.forms.item import LineField
from kit.forms.item_acts import day_input
from kit.models import Item
from kit.stores import NotAllowed

TEST = ("start_pressure", "end_pressure", "minutes", "start_c", "end_c", "ambient_bar")
POINT = ("reference", "as_found", "as_left")


def why_field(label: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=gettext_lazy("Stands beside the old record and in the ledger, under your name, for good."),
    )


class CorrectForm(AnswersMixin, forms.Form):
    """`said` of a valid form is the record as it should have been entered."""

    done_on = forms.DateField(label=gettext_lazy("Done on"), widget=day_input())
    by = LineField(label=gettext_lazy("Done by"), max_length=150, required=False)
    certificate = LineField(label=gettext_lazy("Certificate"), max_length=120, required=False)
    note = LineField(label=gettext_lazy("What was found"), max_length=400, required=False)

    def __init__(self, *args: Any, record: Inspection, **more: Any) -> None:
        self.before = entered(record)
        initial: dict[str, Any] = {
            name: getattr(self.before, name) for name in ("done_on", "by", "certificate", "note")
        }
        super().__init__(*args, initial=initial, **more)
        if self.before.test is not None:
            self._ask_test(self.before.test)
        elif self.before.calibration is not None:
            self._ask_points(self.before.calibration)
        elif self.before.answers is not None and record.version is not None:
            self.ask(Form.from_json(record.version.form))
            for name, answer in self.before.answers.items():
                self.initial[f"a_{name}"] = answer
        else:
            self.fields["verdict"] = forms.ChoiceField(
                label=_("Verdict"), choices=VERDICTS, widget=forms.RadioSelect, initial=record.verdict
            )
        if record.gauge is not None:
            label = _("Gauge it was read on, its tag")
            self.fields["gauge"] = LineField(label=label, max_length=60, initial=record.gauge.tag)
        self.fields["why"] = why_field(_("Why the record was wrong"))

    def _ask_test(self, test: HoldTest) -> None:
        labels = (
            _("Start pressure"),
            _("End pressure"),
            _("Held for, minutes"),
            _("Temperature at the start, °C"),
            _("Temperature at the end, °C"),
            _("Barometer, bar"),
        )
        for name, label in zip(TEST, labels, strict=True):
            self.fields[name] = ReadingField(label=label, required=name in TEST[:3])
            self.initial[name] = _text(getattr(test, name))
        self.fields["unit"] = forms.ChoiceField(label=_("Read in"), choices=UNIT_CHOICES, initial=test.unit)

    def _ask_points(self, calibration: Calibration) -> None:
        words = (_("reference"), _("as found"), _("as left"))
        for position, point in enumerate(calibration.points):
            way = _("up") if point.direction == "up" else _("down")
            for name, word in zip(POINT, words, strict=True):
                label = _("Point %(n)s, %(way)s: %(word)s, %(unit)s") % {
                    "n": position + 1,
                    "way": way,
                    "word": word,
                    "unit": calibration.unit,
                }
                self.fields[f"p{position}_{name}"] = ReadingField(label=label, required=name == "reference")
                self.initial[f"p{position}_{name}"] = _text(getattr(point, name))

    def clean_gauge(self) -> Item:
        tag = self.cleaned_data["gauge"]
        gauge = Item.objects.select_related("kind").filter(tag=tag).first()
        if gauge is None:
            raise forms.ValidationError(_("No item has the tag %(tag)s.") % {"tag": tag})
        return gauge

    @property
    def said(self) -> Entered:
        data, before = self.cleaned_data, self.before
        said = replace(before, **{name: data[name] for name in ("done_on", "by", "certificate", "note")})
        if "gauge" in data:
            said = replace(said, gauge=data["gauge"])
        # A time of day belongs to the day it was entered with.
        if said.done_on != before.done_on:
            said = replace(said, done_at=None)
        if before.test is not None:
            return replace(said, test=replace(before.test, unit=data["unit"], **{n: data[n] for n in TEST}))
        if before.calibration is not None:
            points = tuple(
                replace(point, **{name: data[f"p{position}_{name}"] for name in POINT})
                for position, point in enumerate(before.calibration.points)
            )
            return replace(said, calibration=replace(before.calibration, points=points))
        if before.answers is not None:
            return replace(said, answers=self.texts)
        return replace(said, verdict=data["verdict"])

    def refuse(self, refusal: NotAllowed) -> None:
        """Each refusal at its field."""
        if isinstance(refusal, NotEvidence):
            for one in refusal.refusals:
                self._put(one.field, one.text)
        elif isinstance(refusal, BadPoints):
            for fault in refusal.faults:
                name = fault.field if fault.position is None else f"p{fault.position}_{fault.field}"
                self._put(name, fault.text)
        elif isinstance(refusal, BadAnswers):
            self.put_faults(refusal.faults)
        else:
            self.add_error(None, str(refusal))

    def _put(self, name: str, text: str) -> None:
        self.add_error(name if name in self.fields else None, text)


class StrikeForm(forms.Form):
    why = why_field(gettext_lazy("Why the record does not count"))


def _text(value: Decimal | None) -> str:
    return "" if value is None else written(value)
