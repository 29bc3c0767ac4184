"""What is asked of a consignment: when it is expected, who carries it, and what became of one piece of it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from kit.forms.item_acts import day_input
from kit.models import TransferLine


class SendingForm(forms.Form):
    """Asked once for all that goes together."""

    arrives_on = forms.DateField(label=_("Expected there on"), widget=day_input())
    carrier = forms.CharField(
        label=_("Carried by"),
        max_length=120,
        required=False,
        help_text=_("Own van, a carrier, a crew that goes there."),
    )
    note = forms.CharField(
        label=_("Note"), max_length=500, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    sent_on = forms.DateField(
        label=_("It left on"),
        widget=day_input(),
        required=False,
        help_text=_("Only if it left on an earlier day and was not entered then."),
    )

    def clean_sent_on(self) -> date | None:
        day: date | None = self.cleaned_data["sent_on"]
        return None if day == timezone.localdate() else day


class ExpectForm(forms.Form):
    arrives_on = forms.DateField(label=_("Expected now on"), widget=day_input())
    why = forms.CharField(label=_("Why, and who says so"), max_length=400)


class LineForm(forms.Form):
    """What became of one piece. The outcomes are the buttons that send it."""

    quantity = forms.IntegerField(label=_("How many are here"), min_value=0)
    on = forms.DateField(
        label=_("On"), widget=day_input(), help_text=_("The day on which it came; today as a rule.")
    )
    note = forms.CharField(
        label=_("What was found, where it was looked for, who was told"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Needed for what is missing and for what is back."),
    )

    def __init__(self, *args: Any, line: TransferLine, **more: Any) -> None:
        super().__init__(*args, initial={"on": timezone.localdate(), "quantity": line.quantity}, **more)
        if not line.item.counted:
            del self.fields["quantity"]


class WayForm(forms.Form):
    """The days of a way; empty means that no plan counts on it."""

    lead_days = forms.IntegerField(label=_("Days"), min_value=0, required=False)
    why = forms.CharField(label=_("Why it is withdrawn"), max_length=400, required=False)


class BenchForm(forms.Form):
    bench_a_day = forms.IntegerField(label=_("Inspections a day"), min_value=0)
