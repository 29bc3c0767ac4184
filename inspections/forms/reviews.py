"""What is entered of a review: what becomes of one record, and what is concluded."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy

from inspections.models import Outcome

OUTCOMES = [
    (Outcome.STANDS, gettext_lazy("The verdict stands")),
    (Outcome.REPEAT, gettext_lazy("Repeat it: the piece does not go out until it is done")),
    (Outcome.SET_ASIDE, gettext_lazy("Set the piece aside")),
]


class DecideForm(forms.Form):
    outcome = forms.ChoiceField(
        label=gettext_lazy("What becomes of it"), choices=OUTCOMES, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy(
            "Needed where a verdict stands against the calculation or without one, and to change a decision."
        ),
    )


class CloseForm(forms.Form):
    conclusion = forms.CharField(
        label=gettext_lazy("What is concluded"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=gettext_lazy(
            "What was wrong with the gauge, what was done about it, who was told. It stays under your name."
        ),
    )
