"""Which day, and perhaps which time of it, is asked about."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.item_acts import day_input


class WhenForm(forms.Form):
    on = forms.DateField(label=gettext_lazy("On"), widget=day_input())
    at = forms.TimeField(
        label=gettext_lazy("At"),
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=gettext_lazy("Empty: the end of that day."),
    )

    def clean_on(self):  # type: ignore[no-untyped-def]
        day = self.cleaned_data["on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("That day is still to come: give today or an earlier day."))
        return day

    @property
    def moment(self) -> datetime:
        """The moment asked about, with its zone; of a day without a time its last moment."""
        day, at = self.cleaned_data["on"], self.cleaned_data["at"]
        if at is not None:
            return timezone.make_aware(datetime.combine(day, at))
        return timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min)) - timedelta(
            microseconds=1
        )
