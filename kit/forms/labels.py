"""What labels are printed: of which items, on what stock, with which code, from which position on."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from kit.forms.item import LineField
from kit.label_stock import MOST_MM, LabelStock
from kit.models import Depot, LabelPaper, Place
from kit.papers.labels import Symbology
from kit.stores.label_papers import FIGURES, stocks

SHIPPED_NAMES = [
    ("sheet-60x40", _("A4 sheet, 18 labels of 60 by 40 mm")),
    ("sheet-90x50", _("A4 sheet, 10 labels of 90 by 50 mm")),
    ("roll-60x40", _("Roll, labels of 60 by 40 mm")),
    ("roll-100x50", _("Roll, labels of 100 by 50 mm")),
]
CODE_NAMES = [(Symbology.QR.value, _("QR code")), (Symbology.DATA_MATRIX.value, _("Data Matrix"))]


def stock_names() -> list[tuple[str, Any]]:
    """Code and name of each stock that can be printed on: those shipped, then the depots' own."""
    own = LabelPaper.objects.filter(withdrawn=False)
    return [*SHIPPED_NAMES, *((row.code, row.name) for row in own)]


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
    stock = forms.ChoiceField(label=_("Labels"), choices=SHIPPED_NAMES)
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
        self.stocks: dict[str, LabelStock] = stocks()
        self.fields["stock"].choices = stock_names()  # type: ignore[attr-defined]
        self.fields["place"].queryset = Place.objects.filter(depot=depot)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        asked = super().clean() or {}
        if not asked.get("tags") and not asked.get("place"):
            self.add_error("tags", _now("No item is named: write or scan tags, or choose a place."))
        stock, start = self.stocks.get(asked.get("stock", "")), asked.get("start")
        if stock and start and start > stock.a_page:
            self.add_error(
                "start",
                _now("These labels have %(n)s positions a page: write a number from 1 to %(n)s.")
                % {"n": stock.a_page},
            )
        return asked


def _millimetres(label: Any, help_text: Any = "") -> forms.DecimalField:
    return forms.DecimalField(
        label=label, min_value=0, max_value=MOST_MM, decimal_places=2, help_text=help_text
    )


class LabelPaperForm(forms.Form):
    """A stock of one's own: the page, the label, how many there are and where the first one lies."""

    name = LineField(
        label=_("Name"),
        max_length=80,
        help_text=_("As it is known on the shelf: A4, 12 labels of 90 by 45 mm."),
    )
    page_width_mm = _millimetres(
        _("Width of the page, mm"), _("A4 is 210 by 297. Of a roll: the label itself.")
    )
    page_height_mm = _millimetres(_("Height of the page, mm"))
    label_width_mm = _millimetres(_("Width of a label, mm"))
    label_height_mm = _millimetres(_("Height of a label, mm"))
    columns = forms.IntegerField(label=_("Labels side by side"), min_value=1, max_value=20, initial=1)
    rows = forms.IntegerField(label=_("Labels below one another"), min_value=1, max_value=50, initial=1)
    left_mm = _millimetres(_("From the left edge to the first label, mm"))
    top_mm = _millimetres(_("From the top edge to the first label, mm"))
    pitch_x_mm = _millimetres(
        _("From one column to the next, mm"), _("From left edge to left edge; 0 where there is one column.")
    )
    pitch_y_mm = _millimetres(
        _("From one row to the next, mm"), _("From top edge to top edge; 0 where there is one row.")
    )

    def figures(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in FIGURES}
