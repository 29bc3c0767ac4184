"""What is read at the bench: pressures, temperatures, times, and the fields that ask for them."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.judging import UNITS
from kit.forms.item import LineField
from kit.forms.item_acts import day_input
from kit.models import Item
from kit.sentences import said

LONGEST_READING = 20
_READING = re.compile(r"([+-]?)(\d{0,9})(?:([.,])(\d{0,9}))?")
UNIT_CHOICES = [(unit, unit) for unit in UNITS]


class ReadingField(forms.CharField):
    """A number as it is read off a dial: 0.195, .195 or 0,195; nothing that can be read in two ways."""

    def __init__(self, **settings: Any) -> None:
        widget = forms.TextInput(
            attrs={"inputmode": "decimal", "autocomplete": "off", "class": "reading", "data-reading": True}
        )
        super().__init__(**{"max_length": 60, "widget": widget, **settings})

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        found = (
            _READING.fullmatch(text.replace("\u2212", "-").strip()) if len(text) <= LONGEST_READING else None
        )
        if found is None or not (found[2] or found[4]):
            raise forms.ValidationError(
                _("%(text)s is not a number: write what the dial shows, such as 0.195.") % {"text": text}
            )
        sign, whole, mark, fraction = found.groups()
        if mark == "," and len(fraction) == 3 and whole and not whole.startswith("0"):
            raise forms.ValidationError(
                _("%(text)s can be read as %(a)s or as %(b)s: write it with a point.")
                % {"text": text, "a": f"{whole}.{fraction}", "b": f"{whole}{fraction}"}
            )
        return Decimal(f"{sign}{whole or 0}.{fraction or 0}")


def celsius(label: Any) -> ReadingField:
    return ReadingField(label=label, required=False)


class GaugeField(forms.ModelChoiceField):
    """One of the gauges that may be chosen at the depot; the choices are given by the form."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(
            Item.objects.none(),
            **{"label": gettext_lazy("Gauge"), "empty_label": gettext_lazy("choose"), **settings},
        )

    def label_from_instance(self, obj: Any) -> str:
        serial = f", {obj.serial}" if obj.serial else ""
        return f"{obj.tag} ({said(obj.kind.name)}{serial})"


def offer(field: Any, gauges: list[Item]) -> None:
    """Let a GaugeField offer these."""
    field.queryset = (
        Item.objects.filter(pk__in=[one.pk for one in gauges]).select_related("kind").order_by("tag")
    )


class StartForm(forms.Form):
    """The start of a hold test; the gauge and the unit are those remembered."""

    start_pressure = ReadingField(label=gettext_lazy("Start pressure"))
    start_c = celsius(gettext_lazy("Temperature, °C"))
    check = forms.CharField(widget=forms.HiddenInput, required=False)


class EndForm(forms.Form):
    end_pressure = ReadingField(label=gettext_lazy("End pressure"))
    end_c = celsius(gettext_lazy("Temperature at the end, °C"))
    note = LineField(label=gettext_lazy("What was seen"), max_length=300, required=False)


class BreakOffForm(forms.Form):
    why = LineField(
        label=gettext_lazy("Why it is broken off"),
        max_length=300,
        help_text=gettext_lazy(
            "A bag that leaks is to be failed, not begun anew. This goes into the ledger."
        ),
    )


class SettingForm(forms.Form):
    """What stays the same from bag to bag."""

    gauge = GaugeField()
    unit = forms.ChoiceField(label=gettext_lazy("Read in"), choices=UNIT_CHOICES)

    def __init__(self, *args: Any, gauges: list[Item], **more: Any) -> None:
        super().__init__(*args, **more)
        offer(self.fields["gauge"], gauges)


class HoldTestForm(forms.Form):
    """All of a hold test that was made elsewhere."""

    start_pressure = ReadingField(label=gettext_lazy("Start pressure"))
    end_pressure = ReadingField(label=gettext_lazy("End pressure"))
    unit = forms.ChoiceField(label=gettext_lazy("Read in"), choices=UNIT_CHOICES)
    minutes = ReadingField(label=gettext_lazy("Held for, minutes"))
    start_c = celsius(gettext_lazy("Temperature at the start, °C"))
    end_c = celsius(gettext_lazy("Temperature at the end, °C"))
    ambient_bar = ReadingField(
        label=gettext_lazy("Barometer, bar"),
        required=False,
        help_text=gettext_lazy("Only with temperatures; empty is 1.01325 bar."),
    )
    gauge = GaugeField()
    done_on = forms.DateField(label=gettext_lazy("Done on"), widget=day_input())
    by = LineField(
        label=gettext_lazy("Done by"),
        max_length=150,
        required=False,
        help_text=gettext_lazy("If somebody else than you. Nobody may release what they failed."),
    )
    note = LineField(label=gettext_lazy("What was seen"), max_length=400, required=False)

    def __init__(self, *args: Any, gauges: list[Item], **more: Any) -> None:
        more["initial"] = {"done_on": timezone.localdate(), **more.get("initial", {})}
        super().__init__(*args, **more)
        offer(self.fields["gauge"], gauges)
