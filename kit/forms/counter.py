"""What the counter asks: why an issue is short, and how a piece came back."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from kit.forms.item_acts import day_input
from kit.models import Outcome, Reservation


class FinishForm(forms.Form):
    why_short = forms.CharField(
        label=_("Why it goes out short, and who agreed"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Needed if anything is missing; it stands on the issue note."),
    )


class LateForm(forms.Form):
    """The earlier day on which something happened that is entered only now."""

    on = forms.DateField(
        label=_("It happened on"),
        widget=day_input(),
        help_text=_("Only for what left on an earlier day and was not entered then."),
    )

    def clean_on(self) -> date:
        day: date = self.cleaned_data["on"]
        if day >= timezone.localdate():
            raise forms.ValidationError(_("Give a day before today; what leaves today needs no day."))
        return day


class BackForm(forms.Form):
    """How one reservation came back. The four outcomes are the buttons that send it."""

    outcome = forms.ChoiceField(choices=[c for c in Outcome.choices if c[0]], widget=forms.HiddenInput)
    quantity = forms.IntegerField(
        label=_("How many came back"),
        min_value=0,
        required=False,
        help_text=_("What does not come back counts as used."),
    )
    back_on = forms.DateField(label=_("Came back on"), widget=day_input())
    why = forms.CharField(
        label=_("What was found, or where it was seen last"),
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Needed for what is damaged or missing."),
    )

    def __init__(self, *args: Any, reservation: Reservation, **more: Any) -> None:
        super().__init__(*args, initial={"back_on": timezone.localdate()}, **more)
        self.fields["outcome"].error_messages["required"] = _(
            "Say how it came back: used, unused, damaged or missing."
        )
        if not reservation.counted:
            del self.fields["quantity"]
