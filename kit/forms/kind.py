"""Settings of a kind, what 3/94 means on one maker's labels, and the walk round a store."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.choices import said
from kit.forms.item import LineField
from kit.models import Kind, Place, ShortDate, SizedBy

MOST_DAYS = 3650


class KindForm(forms.Form):
    """What a person may set of a kind that exists."""

    turn_round_days = forms.IntegerField(
        label=gettext_lazy("Turn-round, days"),
        min_value=0,
        max_value=MOST_DAYS,
        help_text=gettext_lazy("Between two jobs: an item is free again so many days after its return."),
    )
    margin_days = forms.IntegerField(
        label=gettext_lazy("Margin, days"),
        min_value=0,
        max_value=MOST_DAYS,
        help_text=gettext_lazy("An item must be in date so many days beyond the return of its job."),
    )
    bore_margin_mm = forms.DecimalField(
        label=gettext_lazy("Margin of the bore, mm"),
        min_value=0,
        max_value=500,
        decimal_places=3,
        required=False,
        help_text=gettext_lazy("Its range must reach so far beyond the main at either end. Empty is 0."),
    )
    sized_by = forms.ChoiceField(
        label=gettext_lazy("Its range is compared with the main's"),
        choices=said(SizedBy.choices),
        required=False,
        help_text=gettext_lazy("Inside for what goes into the main; outside for what sits on it."),
    )
    short_date = forms.ChoiceField(
        label=gettext_lazy("What 3/94 means on its labels"),
        choices=said(ShortDate.choices),
        required=False,
        help_text=gettext_lazy("March 1994, or the third quarter of it: ask whoever made them."),
    )
    has_bore = forms.BooleanField(label=gettext_lazy("It suits a range of bores"), required=False)
    has_mark = forms.BooleanField(label=gettext_lazy("It carries a mark that has to match"), required=False)
    has_serial = forms.BooleanField(label=gettext_lazy("It carries a maker's serial"), required=False)
    has_batch = forms.BooleanField(label=gettext_lazy("It carries a batch"), required=False)
    has_use_by = forms.BooleanField(label=gettext_lazy("It carries a use-by date"), required=False)
    check_after_use = forms.BooleanField(
        label=gettext_lazy("A use calls for its checks again"),
        required=False,
        help_text=gettext_lazy(
            "The usual for checks that are set from now on; each check can say otherwise."
        ),
    )

    def clean_bore_margin_mm(self) -> Decimal:
        return self.cleaned_data["bore_margin_mm"] or Decimal(0)

    def clean_sized_by(self) -> str:
        return self.cleaned_data["sized_by"] or SizedBy.INSIDE

    def settings(self) -> dict[str, Any]:
        return dict(self.cleaned_data)


class NewKindForm(KindForm):
    name = LineField(label=gettext_lazy("Name of the kind"), max_length=60)
    counted = forms.BooleanField(
        label=gettext_lazy("It is counted in lots, not tagged piece by piece"),
        required=False,
        help_text=gettext_lazy("This cannot be changed once the register has some."),
    )
    field_order = ["name", "counted"]

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if not name.isprintable():
            raise forms.ValidationError(_("A name needs letters or figures, and nothing that nobody sees."))
        if same := Kind.objects.filter(name__iexact=name).first():
            raise forms.ValidationError(_("There is a kind %(kind)s already."), params={"kind": same})
        return name

    def settings(self) -> dict[str, Any]:
        return {key: value for key, value in self.cleaned_data.items() if key != "name"}


class MakerLabelForm(forms.Form):
    maker = LineField(label=gettext_lazy("Maker"), max_length=80)
    short_date = forms.ChoiceField(
        label=gettext_lazy("What 3/94 means on that maker's labels"),
        choices=said(ShortDate.choices),
        required=False,
    )


class WalkForm(forms.Form):
    """A number a place: the lowest is come to first."""

    def __init__(self, *args: Any, places: list[Place], **more: Any) -> None:
        super().__init__(*args, **more)
        for place in places:
            self.fields[f"place-{place.pk}"] = forms.IntegerField(
                label=place.name, min_value=0, max_value=100_000, initial=place.walk
            )

    def walk(self) -> dict[int, int]:
        """The place in the walk by the key of the place."""
        return {int(name.removeprefix("place-")): order for name, order in self.cleaned_data.items()}
