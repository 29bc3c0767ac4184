"""What a stock-take asks: which place, and what became of a line that did not come out even."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kit.models import Depot, Place, StockTakeLine


class BeginForm(forms.Form):
    place = forms.ModelChoiceField(
        label=_("Place to count"),
        queryset=Place.objects.none(),
        required=False,
        empty_label=_("The whole depot"),
        help_text=_("What the book has there now is frozen as what should be there."),
    )
    note = forms.CharField(label=_("Note"), max_length=500, required=False)

    def __init__(self, *args: Any, depot: Depot, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["place"].queryset = Place.objects.filter(depot=depot)  # type: ignore[attr-defined]


class SettleForm(forms.Form):
    """The decision is the button that sends it; the fields are those that a decision may need."""

    quantity = forms.IntegerField(label=_("How many are there"), min_value=0, required=False)
    to = forms.ModelChoiceField(
        label=_("Where it lies"),
        queryset=Place.objects.none(),
        required=False,
        empty_label=_("Choose a place"),
        help_text=_("Only for a piece that lies somewhere else."),
    )
    why = forms.CharField(
        label=_("Why"),
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("It goes into the ledger with the decision."),
        error_messages={"required": _("Say why it is settled so: the reason goes into the ledger.")},
    )

    def __init__(self, *args: Any, line: StockTakeLine, asks: frozenset[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["to"].queryset = Place.objects.filter(depot=line.stock_take.depot)  # type: ignore[attr-defined]
        # A lot that is as the book has it needs no reason; the action asks for one where it is not.
        self.fields["why"].required = "quantity" not in asks
        for name in ("quantity", "to"):
            if name not in asks:
                del self.fields[name]
