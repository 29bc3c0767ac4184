"""Places of a store: a new one, another name, or out of use."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from kit.forms.item import LineField
from kit.models import Place


class NewPlaceForm(forms.Form):
    name = LineField(
        label=gettext_lazy("Name of the place"),
        max_length=80,
        help_text=gettext_lazy("As it is written on the rack, bay or cage."),
    )


class RenamePlaceForm(forms.Form):
    name = LineField(label=gettext_lazy("New name"), max_length=80)
    why = LineField(label=gettext_lazy("Why"), max_length=300)


class WithdrawPlaceForm(forms.Form):
    to = forms.ModelChoiceField(
        Place.objects.none(),
        label=gettext_lazy("What lies there goes to"),
        empty_label=gettext_lazy("nowhere: it is empty"),
        required=False,
    )
    why = LineField(label=gettext_lazy("Why"), max_length=300)

    def __init__(self, *args: Any, place: Place, **more: Any) -> None:
        super().__init__(*args, **more)
        others = Place.objects.filter(depot=place.depot).exclude(pk=place.pk)
        self.fields["to"].queryset = others.order_by("walk", "name")  # type: ignore[attr-defined]
