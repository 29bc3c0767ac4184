"""Where a person's reminders go."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _


class AddressForm(forms.Form):
    address = forms.EmailField(
        label=_("Your e-mail address"),
        required=False,
        max_length=254,
        help_text=_("Reminders go there. Empty: none are sent."),
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
