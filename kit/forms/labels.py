"""What labels are printed: of which items, on what stock, with which code, from which position on."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from kit.models import Depot, Place
from kit.papers.label_stock import STOCKS
from kit.papers.labels import Symbology

STOCK_NAMES = [
    ("sheet-60x40", _("A4 sheet, 18 labels of 60 by 40 mm")),
    ("sheet-90x50", _("A4 sheet, 10 labels of 90 by 50 mm")),
    ("roll-60x40", _("Roll, labels of 60 by 40 mm")),
    ("roll-100x50", _("Roll, labels of 100 by 50 mm")),
]
CODE_NAMES = [(Symbology.QR.value, _("QR code")), (Symbology.DATA_MATRIX.value, _("Data Matrix"))]


class LabelsForm(forms.Form):
    tags = forms.CharField(
        label=_("Tags"),
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"}),
        help_text=_("One a line, or scan them one after the other."),
    )
    place = forms.ModelChoiceField(
        label=_("Or all that is in a place"),
        queryset=Place.objects.none(),
        required=False,
        empty_label=_("No place"),
    )
    stock = forms.ChoiceField(label=_("Labels"), choices=STOCK_NAMES)
    code = forms.ChoiceField(
        label=_("Code"), choices=CODE_NAMES, help_text=_("The scan box reads either as the tag.")
    )
    start = forms.IntegerField(
        label=_("First free label"),
        min_value=1,
        initial=1,
        help_text=_("On a part-used sheet: counted from the top left along the rows. A roll begins at 1."),
    )

    def __init__(self, *args: Any, depot: Depot, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["place"].queryset = Place.objects.filter(depot=depot)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        asked = super().clean() or {}
        if not asked.get("tags") and not asked.get("place"):
            self.add_error("tags", _now("No item is named: write or scan tags, or choose a place."))
        stock, start = STOCKS.get(asked.get("stock", "")), asked.get("start")
        if stock and start and start > stock.a_page:
            self.add_error(
                "start",
                _now("These labels have %(n)s positions a page: write a number from 1 to %(n)s.")
                % {"n": stock.a_page},
            )
        return asked
