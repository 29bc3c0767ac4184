"""Another piece in the place of one: chosen from what also fits, or named by its tag, with a reason."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.item import LineField
from kit.models import Item
from kit.planning import NO_LIMIT
from kit.tables.items import bore_text
from kit.tables.marks import short_day

MOST_OFFERED = 12


def label_of(item: Item) -> str:
    """A piece as a choice: its tag and what tells it from the others."""
    parts = [
        _("%(bore)s mm") % {"bore": bore_text(item)} if bore_text(item) else "",
        _("mark %(mark)s") % {"mark": item.mark} if item.mark else "",
        _("fit until %(day)s") % {"day": short_day(item.fit_until)}
        if item.fit_until and item.limited
        else "",
        item.place.name if item.place else "",
    ]
    return ", ".join([item.tag, *(part for part in parts if part)])


class SubstituteForm(forms.Form):
    """`other` in the cleaned data is the tag that was chosen or typed."""

    choice = forms.ChoiceField(
        label=gettext_lazy("Which also fits"), required=False, widget=forms.RadioSelect, choices=[]
    )
    tag = LineField(
        label=gettext_lazy("Or its tag, scanned or typed"),
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    why = LineField(label=gettext_lazy("Why"), max_length=500)

    def __init__(self, *args: Any, offered: list[str], first: Item | None, **more: Any) -> None:
        super().__init__(*args, **more)
        items = list(Item.objects.filter(tag__in=offered).select_related("place"))
        # As in the choice itself: what runs out soonest of all that lasts long enough goes first.
        items.sort(key=lambda item: (item != first, item.fit_until or NO_LIMIT, item.tag))
        choices = [(item.tag, label_of(item)) for item in items[:MOST_OFFERED]]
        if not choices:
            del self.fields["choice"]
            self.fields["tag"].label = gettext_lazy("Its tag, scanned or typed")
            return
        self.fields["choice"].choices = choices
        if len(items) > MOST_OFFERED:
            left = _("And %(n)s more: the job's page lists them all.") % {"n": len(items) - MOST_OFFERED}
            self.fields["choice"].help_text = left
        if first is not None and choices[0][0] == first.tag:
            self.fields["choice"].initial = first.tag

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        choice, tag = data.get("choice", ""), data.get("tag", "")
        # A tag that was scanned is meant, also where a choice was ticked before.
        data["other"] = tag or choice
        if not data["other"] and not self.errors.keys() & {"choice", "tag"}:
            self.add_error("tag", _("Say which piece: choose one, or scan or type its tag."))
        return data
