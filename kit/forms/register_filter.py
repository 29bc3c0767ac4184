"""What the register can be narrowed by."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet
from django.http import QueryDict
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from kit.forms.choices import NameField, said
from kit.models import Custody, Depot, Item, Kind, Place, State
from kit.tables.marks import SOON_DAYS

FETTLE = [
    ("yes", _("in fettle today")),
    ("soon", _("in fettle, runs out within 14 days")),
    ("no", _("not in fettle today")),
]
# Besides the states: what a list of work usually wants.
IN_USE = ("in-use", _("all but withdrawn and lost"))


class KindField(NameField, django_filters.fields.ModelChoiceField):
    """With the empty choice of a filter."""


class KindFilter(django_filters.ModelChoiceFilter):
    """By kind, its name in the language of the page."""

    field_class = KindField


class RegisterFilter(django_filters.FilterSet):
    """Narrows items; `depots` are those the person works at, and nothing else is ever shown."""

    q = django_filters.CharFilter(method="search", label=_("Tag, serial, batch, maker or set"))
    kind = KindFilter(
        queryset=Kind.objects.all(), to_field_name="name", label=_("Kind"), empty_label=_("any")
    )
    depot = django_filters.ModelChoiceFilter(
        queryset=Depot.objects.none(), to_field_name="code", label=_("Depot"), empty_label=_("all of yours")
    )
    place = django_filters.ModelChoiceFilter(
        queryset=Place.objects.none(), label=_("Place"), empty_label=_("any")
    )
    maker = django_filters.ChoiceFilter(label=_("Maker"), empty_label=_("any"))
    batch = django_filters.CharFilter(lookup_expr="iexact", label=_("Batch, all of its number"))
    set = django_filters.ChoiceFilter(
        field_name="set_name", label=_("Set"), empty_label=_("of any set or none")
    )
    state = django_filters.ChoiceFilter(
        choices=[IN_USE, *said(State.choices)], method="in_state", label=_("State"), empty_label=_("any")
    )
    custody = django_filters.ChoiceFilter(
        choices=said(Custody.choices), label=_("Where it is"), empty_label=_("anywhere")
    )
    fettle = django_filters.ChoiceFilter(
        choices=FETTLE, method="in_fettle", label=_("In fettle"), empty_label=_("whether or not")
    )
    fit_from = django_filters.DateFilter(
        field_name="fit_until",
        lookup_expr="gte",
        label=_("Fit until that day or later"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )
    fit_before = django_filters.DateFilter(
        method="runs_out_before",
        label=_("Fit until before"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    class Meta:
        model = Item
        fields: list[str] = []

    def __init__(self, data: QueryDict, *, depots: list[Depot], **more: Any) -> None:
        super().__init__(data, **more)
        own = [depot.pk for depot in depots]
        self.filters["depot"].queryset = Depot.objects.filter(pk__in=own)
        # Places of one depot only where one is chosen: every depot may have its Rack 1.
        at = [depot.pk for depot in depots if depot.code == data.get("depot")] or own
        self.filters["place"].queryset = Place.objects.filter(depot__in=at)
        here = Item.objects.filter(depot__in=at)
        for name, column in (("set", "set_name"), ("maker", "maker")):
            names = here.exclude(**{column: ""}).order_by(column).values_list(column, flat=True).distinct()
            self.filters[name].extra["choices"] = [(each, each) for each in names]

    def search(self, items: QuerySet[Item], _name: str, value: str) -> QuerySet[Item]:
        """Each word must stand somewhere in the tag, serial, batch, maker or name of its set."""
        for word in value.split():
            items = items.filter(
                Q(tag__icontains=word)
                | Q(serial__icontains=word)
                | Q(batch__icontains=word)
                | Q(maker__icontains=word)
                | Q(set_name__icontains=word)
            )
        return items

    def in_state(self, items: QuerySet[Item], _name: str, value: str) -> QuerySet[Item]:
        return items.in_use() if value == IN_USE[0] else items.filter(state=value)

    def in_fettle(self, items: QuerySet[Item], _name: str, value: str) -> QuerySet[Item]:
        today = timezone.localdate()
        if value == "no":
            return items.filter(Q(fit_until__isnull=True) | Q(fit_until__lt=today))
        last = today + timedelta(days=SOON_DAYS)
        return (
            items.filter(fit_until__gte=today)
            if value == "yes"
            else items.filter(fit_until__range=(today, last))
        )

    def runs_out_before(self, items: QuerySet[Item], _name: str, value: date) -> QuerySet[Item]:
        """Out of date before that day, or not fit at all."""
        return items.filter(Q(fit_until__lt=value) | Q(fit_until__isnull=True))
