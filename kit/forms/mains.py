"""A row of the depot's own table of mains, and why one is withdrawn."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from kit.forms.item import LineField

MATERIALS = ("cast iron", "spun iron", "steel", "PE", "ductile iron")


class MainForm(forms.Form):
    """What a size as written stands for: the inside diameter, or the outside diameter and the wall."""

    material = LineField(
        label=gettext_lazy("Material"),
        max_length=60,
        help_text=gettext_lazy("As it is written of jobs: cast iron, spun iron."),
        widget=forms.TextInput(attrs={"list": "materials"}),
    )
    size = LineField(
        label=gettext_lazy("Size"),
        max_length=40,
        help_text=gettext_lazy(
            "6 in, DN150; with a class of wall behind it if only that one is meant: 6 in class C."
        ),
    )
    inside_mm = forms.DecimalField(
        label=gettext_lazy("Inside diameter, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("This, or the outside diameter and the wall."),
    )
    outside_mm = forms.DecimalField(
        label=gettext_lazy("Outside diameter, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("Kinds that sit on the pipe are chosen by it."),
    )
    wall_mm = forms.DecimalField(
        label=gettext_lazy("Wall, mm"),
        min_value=Decimal("0.001"),
        max_value=500,
        decimal_places=3,
        required=False,
    )
    source = LineField(
        label=gettext_lazy("Where the figures come from"),
        max_length=200,
        help_text=gettext_lazy("A standard, a drawing, a survey of the network operator."),
    )
    note = LineField(label=gettext_lazy("Note"), max_length=300, required=False)

    def figures(self) -> dict[str, Any]:
        """The row but for its material and size."""
        return {name: value for name, value in self.cleaned_data.items() if name not in ("material", "size")}
