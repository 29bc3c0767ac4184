"""Goods in, and changes to what is recorded of an item."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.choices import NameField
from kit.models import Depot, Item, Kind, MakerLabel, Place
from kit.planning.printed_dates import Convention, DateFault, PrintedDate, first_day, read_printed_date
from kit.workbooks.cell_text import tidy

PLACES = "names-of-places"
AS_PRINTED = gettext_lazy("As the label prints it: 31/03/2027, 2027-03-31, 03/2027 or GS1 270331.")


def names_of_places(depots: Iterable[Depot]) -> list[str]:
    """Names to offer where a place is typed."""
    return list(
        Place.objects.filter(depot__in=depots).values_list("name", flat=True).distinct().order_by("name")
    )


def convention_of(kind: Kind, maker: str) -> Convention:
    """What 3/94 means on a label of this maker and kind."""
    rule = MakerLabel.objects.filter(kind=kind, maker__iexact=maker).first() if maker else None
    return (rule or kind).short_date  # type: ignore[return-value]


class LineField(forms.CharField):
    """Text in one line, without the characters that nobody sees."""

    def to_python(self, value: Any) -> str:
        return tidy(super().to_python(value))


class ItemDetails(forms.Form):
    """What a person may record of an item; its state, custody and due dates move by other actions."""

    maker = LineField(label=gettext_lazy("Maker"), max_length=80, required=False)
    serial = LineField(label=gettext_lazy("Maker's serial"), max_length=80, required=False)
    batch = LineField(label=gettext_lazy("Batch"), max_length=80, required=False)
    bore_min_mm = forms.DecimalField(
        label=gettext_lazy("Smallest bore, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
    )
    bore_max_mm = forms.DecimalField(
        label=gettext_lazy("Largest bore, mm"),
        min_value=Decimal("0.001"),
        max_value=5000,
        decimal_places=3,
        required=False,
    )
    mark = LineField(label=gettext_lazy("Mark"), max_length=40, required=False)
    made_on = LineField(label=gettext_lazy("Made on"), max_length=40, required=False, help_text=AS_PRINTED)
    use_by = LineField(label=gettext_lazy("Use-by date"), max_length=40, required=False, help_text=AS_PRINTED)
    place = LineField(
        label=gettext_lazy("Place"),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"list": PLACES}),
        help_text=gettext_lazy("Rack, bay or shelf. A new name sets up a new place."),
    )
    note = LineField(label=gettext_lazy("Note"), max_length=500, required=False)

    def kind(self) -> Kind | None:
        """The kind of the item; what its labels print depends on it."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        low, high = data.get("bore_min_mm"), data.get("bore_max_mm")
        if (low is None) != (high is None) and not {"bore_min_mm", "bore_max_mm"} & set(self.errors):
            self.add_error(
                "bore_max_mm" if high is None else "bore_min_mm",
                _("A bore range has two ends: give both or neither."),
            )
        elif low is not None and high is not None and low > high:
            self.add_error("bore_max_mm", _("The largest bore is less than the smallest: exchange the two."))
        kind = self.kind()
        if kind is not None:
            self._read_dates(kind, data)
        return data

    def _read_dates(self, kind: Kind, data: dict[str, Any]) -> None:
        convention = convention_of(kind, data.get("maker", ""))
        made, by = (self._printed(name, data, convention) for name in ("made_on", "use_by"))
        data["made_on"] = first_day(made) if made else None
        data["use_by"] = by.day if by else None
        data["use_by_precision"] = by.precision if by else "day"
        data["use_by_text"] = by.text[:40] if by else ""
        if data["made_on"] and data["made_on"] > timezone.localdate():
            self.add_error(
                "made_on", _("This day is in the future: give the day on which the item was made.")
            )
        elif data["made_on"] and data["use_by"] and data["use_by"] < data["made_on"]:
            self.add_error(
                "use_by", _("The use-by date lies before the day it was made: one of the two is wrong.")
            )

    def _printed(self, name: str, data: dict[str, Any], convention: Convention) -> PrintedDate | None:
        if not data.get(name):
            return None
        try:
            return read_printed_date(data[name], convention, today=timezone.localdate())
        except DateFault as fault:
            self.add_error(name, str(fault))
            return None

    def refuse_taken_serial(self, kind: Kind, but: Item | None = None) -> None:
        """A maker's serial belongs to one item of a kind."""
        serial = self.cleaned_data.get("serial")
        if not serial:
            return
        same = Item.objects.filter(kind=kind, maker=self.cleaned_data.get("maker", ""), serial=serial)
        other = same.exclude(pk=but.pk if but else None).first()
        if other is not None:
            self.add_error(
                "serial",
                _("%(tag)s is a %(kind)s with this maker and serial already.")
                % {"tag": other.tag, "kind": kind},
            )


class ReceiveForm(ItemDetails):
    tag = LineField(
        label=gettext_lazy("Tag"),
        max_length=60,
        help_text=gettext_lazy("Belongs to this one item for ever, also after it is gone."),
        widget=forms.TextInput(
            attrs={"autofocus": True, "autocapitalize": "characters", "autocomplete": "off"}
        ),
    )
    another = forms.BooleanField(
        label=gettext_lazy("It is another item all the same"), required=False, widget=forms.HiddenInput
    )
    item_kind = NameField(
        Kind.objects.all(),
        to_field_name="name",
        label=gettext_lazy("Kind"),
        empty_label=gettext_lazy("choose"),
    )
    depot = forms.ModelChoiceField(
        Depot.objects.none(), to_field_name="code", label=gettext_lazy("Depot"), empty_label=None
    )
    quantity = forms.IntegerField(
        label=gettext_lazy("Quantity"),
        min_value=0,
        max_value=1_000_000,
        required=False,
        help_text=gettext_lazy("Of what is counted; a single piece needs none."),
    )

    field_order = ["tag", "another", "item_kind", "depot", "place", "quantity", "maker", "serial", "batch"]

    def __init__(self, *args: Any, depots: Iterable[Depot], **more: Any) -> None:
        super().__init__(*args, **more)
        allowed = Depot.objects.filter(pk__in=[depot.pk for depot in depots])
        self.fields["depot"].queryset = allowed

    def kind(self) -> Kind | None:
        return self.cleaned_data.get("item_kind")

    def clean_tag(self) -> str:
        tag: str = self.cleaned_data["tag"]
        if tag in (".", ".."):
            raise ValidationError(_("A tag needs a letter or a figure."))
        there = Item.objects.filter(tag__iexact=tag).order_by("tag").first()
        if there is None:
            return tag
        if there.tag == tag or Item.objects.filter(tag=tag).exists():
            raise ValidationError(
                _("%(tag)s is in the register already, and a tag belongs to one item for ever.")
                % {"tag": tag}
            )
        if not self.data.get("another"):
            # Asked once: the tick box comes into sight with this refusal.
            self.fields["another"].widget = forms.CheckboxInput()
            raise ValidationError(
                _(
                    "%(there)s is in the register and differs only in case. Take another tag, or tick that it "
                    "is another item."
                )
                % {"there": there.tag}
            )
        return tag

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        kind = self.kind()
        if kind is not None:
            self.refuse_taken_serial(kind)
            self._check_quantity(kind, data.get("quantity"))
        return data

    def _check_quantity(self, kind: Kind, quantity: int | None) -> None:
        if "quantity" in self.errors:
            return
        if kind.counted and quantity is None:
            self.add_error("quantity", _("A %(kind)s is counted: give how many there are.") % {"kind": kind})
        elif not kind.counted and quantity not in (None, 1):
            self.add_error(
                "quantity",
                _("A %(kind)s is a single piece with a tag of its own: leave this empty.") % {"kind": kind},
            )

    def new_item(self, place: Place | None) -> Item:
        """The item as entered, not saved."""
        data = self.cleaned_data
        quantity = data["quantity"] if data["item_kind"].counted else 1
        details = {name: data[name] for name in DETAILS}
        return Item(
            tag=data["tag"],
            kind=data["item_kind"],
            depot=data["depot"],
            place=place,
            quantity=quantity,
            **details,
        )


DETAILS = (
    "maker",
    "serial",
    "batch",
    "bore_min_mm",
    "bore_max_mm",
    "mark",
    "made_on",
    "use_by",
    "use_by_precision",
    "use_by_text",
    "note",
)


def _as_typed(day: date | None, text: str = "") -> str:
    return text or (f"{day:%d/%m/%Y}" if day else "")


class ChangeForm(ItemDetails):
    """Details of an item as they stand.

    Each field carries what it showed, and only what the person alters is sent on: so two people at once do not
    undo each other's changes.
    """

    why = LineField(label=gettext_lazy("Why it is changed"), max_length=500, required=False)

    def __init__(self, *args: Any, item: Item, **more: Any) -> None:
        self.item = item
        shown = {name: getattr(item, name) for name in DETAILS}
        shown["made_on"] = _as_typed(item.made_on)
        shown["use_by"] = _as_typed(item.use_by, item.use_by_text)
        shown["place"] = item.place.name if item.place else ""
        for name in ("bore_min_mm", "bore_max_mm"):
            shown[name] = None if shown[name] is None else shown[name].normalize()
        super().__init__(*args, initial=shown, **more)
        for name, field in self.fields.items():
            field.show_hidden_initial = name != "why"

    def kind(self) -> Kind:
        return self.item.kind

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if {"maker", "serial"} & set(self.changed_data):
            self.refuse_taken_serial(self.item.kind, but=self.item)
        return data

    def altered(self) -> dict[str, Any]:
        """What the person altered, by column; the place by its name."""
        names = set(self.changed_data) & {*DETAILS, "place"}
        if "use_by" in names:
            names |= {"use_by_precision", "use_by_text"}
        return {name: self.cleaned_data[name] for name in names}
