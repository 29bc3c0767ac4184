"""What is asked before an item is set aside, withdrawn, lost, found, counted or sent."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from kit.models import Depot, Item


def day_input(**attrs: Any) -> forms.DateInput:
    """A day as the browser's own calendar takes it."""
    return forms.DateInput(attrs={"type": "date", **attrs}, format="%Y-%m-%d")


class ItemForm(forms.Form):
    """A form about one item; actions themselves say what is missing, so nothing is required here twice."""

    def __init__(self, *args: Any, item: Item, **more: Any) -> None:
        self.item = item
        super().__init__(*args, **more)


class WhyForm(ItemForm):
    why = forms.CharField(
        label=_("Why"),
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3, "autofocus": True}),
        help_text=_("Goes on the tag and into the ledger, and stays there."),
    )


class PlainForm(ItemForm):
    """Nothing to fill in: a press of the button says it all."""


class StockForm(ItemForm):
    quantity = forms.IntegerField(
        label=_("Counted"),
        min_value=0,
        max_value=1_000_000,
        widget=forms.NumberInput(attrs={"autofocus": True}),
    )
    why = forms.CharField(
        label=_("What explains the difference"),
        max_length=500,
        required=False,
        help_text=_("If there is one."),
    )


class SendForm(ItemForm):
    to = forms.ModelChoiceField(
        Depot.objects.none(), to_field_name="code", label=_("To which depot"), empty_label=_("choose")
    )
    arrives_on = forms.DateField(label=_("Expected there on"), widget=day_input())

    def __init__(self, *args: Any, item: Item, **more: Any) -> None:
        super().__init__(*args, item=item, initial={"arrives_on": timezone.localdate()}, **more)
        self.fields["to"].queryset = Depot.objects.exclude(pk=item.depot_id)
