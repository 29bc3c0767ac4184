"""What is asked before an item is set aside, withdrawn, lost, found, counted or sent."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from kit.forms.item import LineField
from kit.models import Depot, Item
from kit.stores import mates_of, usual_arrival
from kit.workbooks.cell_text import tidy

LONGEST_LIST = 5_000
"""Characters of tags that a set is made up from: many times what the largest set holds."""


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
        others = list(Depot.objects.exclude(pk=item.depot_id))
        today = timezone.localdate()
        usual = usual_arrival(item.depot_id, others[0], today) if len(others) == 1 else None
        super().__init__(*args, item=item, initial={"arrives_on": usual or today}, **more)
        self.fields["to"].queryset = Depot.objects.exclude(pk=item.depot_id)


class BindForm(ItemForm):
    """A set made up from this item and what is scanned into one box, or what is there of its set added to."""

    name = LineField(
        label=_("Name of the set"),
        max_length=60,
        help_text=_("What is written on its box, or what everybody calls it."),
    )
    tags = forms.CharField(
        label=_("What goes with it"),
        max_length=LONGEST_LIST,
        widget=forms.Textarea(attrs={"rows": 5, "autocapitalize": "characters", "spellcheck": "false"}),
        help_text=_("Scan or type the tags one after the other, a line each."),
    )
    why = LineField(label=_("Why"), max_length=500, help_text=_("Goes into the ledger, and stays there."))

    def __init__(self, *args: Any, item: Item, **more: Any) -> None:
        tags = "".join(f"{mate.tag}\n" for mate in mates_of(item))
        super().__init__(*args, item=item, initial={"name": item.set_name, "tags": tags}, **more)
        first = "tags" if item.set_name else "name"
        self.fields[first].widget.attrs["autofocus"] = True

    def clean_tags(self) -> list[Item]:
        """The pieces of its depot that the box names, each once; the item itself may be among them."""
        found: dict[int, Item] = {}
        unknown: list[str] = []
        for tag in filter(None, map(tidy, self.cleaned_data["tags"].splitlines())):
            item = self._piece(tag)
            if item is None:
                unknown.append(tag)
            else:
                found[item.pk] = item
        if unknown:
            raise forms.ValidationError(
                _(
                    "No piece at %(depot)s has the tag %(tags)s: look at the label. A set stands in one depot, so "
                    "what is elsewhere is sent here first."
                ),
                params={"depot": self.item.depot, "tags": ", ".join(unknown)},
            )
        return list(found.values())

    def _piece(self, tag: str) -> Item | None:
        """By its exact tag, else in any case where that leaves no doubt."""
        here = Item.objects.filter(depot=self.item.depot)
        spelt = here.filter(tag=tag).first()
        near = [] if spelt else list(here.filter(tag__iexact=tag)[:2])
        return near[0] if len(near) == 1 else spelt
