"""What the due list can be narrowed by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspections.due_list import USE_BY, DueEntry, due_list
from inspections.models import Check
from kit.forms.choices import NameField, named, said
from kit.forms.job_filter import day_input
from kit.forms.week import WeekField, days_of
from kit.models import Custody, Depot, Item, Kind, State

STANDS = [
    ("", _("any")),
    ("never", _("never done")),
    ("overdue", _("overdue")),
    ("falls", _("falls due")),
]


class DueFilter(forms.Form):
    """Narrows what is due; `depots` are those the person works at, and nothing else is ever shown."""

    q = forms.CharField(label=_("Tag"), required=False, max_length=60)
    depot = forms.ModelChoiceField(
        Depot.objects.none(),
        to_field_name="code",
        label=_("Depot"),
        empty_label=_("all of yours"),
        required=False,
    )
    kind = NameField(
        Kind.objects.none(), to_field_name="name", label=_("Kind"), empty_label=_("any"), required=False
    )
    check = forms.ChoiceField(label=_("Check"), required=False)
    within = forms.IntegerField(
        label=_("Falls due within, days"),
        min_value=0,
        max_value=36_525,
        required=False,
        help_text=_("Empty: overdue or never done."),
    )
    week = WeekField(label=_("Week in which it falls due"), required=False)
    stands = forms.ChoiceField(label=_("How it stands"), choices=STANDS, required=False)
    promised = forms.BooleanField(label=_("Only what is promised to a job"), required=False)
    state = forms.ChoiceField(
        label=_("State"),
        choices=[
            ("", _("any")),
            *said(c for c in State.choices if c[0] in (State.AVAILABLE, State.QUARANTINED)),
        ],
        required=False,
    )
    custody = forms.ChoiceField(
        label=_("Where it is"),
        choices=[("", _("anywhere")), *said(Custody.choices)],
        required=False,
    )
    as_of = forms.DateField(label=_("As of"), required=False, widget=day_input())

    def __init__(self, *args: Any, depots: list[Depot], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["week"].offer_from(timezone.localdate(), str(self.data.get("week", "")))
        own = [depot.pk for depot in depots]
        self.fields["depot"].queryset = Depot.objects.filter(pk__in=own)
        self.fields["kind"].queryset = Kind.objects.all()
        names = Check.objects.in_force().order_by("name").values_list("name", flat=True).distinct()
        self.fields["check"].choices = [
            ("", _("any")),
            *named(names),
            (USE_BY, _("use-by date")),
        ]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a valid filter asks for."""

    as_of: date
    entries: list[DueEntry]


def answer(form: DueFilter, depots: list[Depot], today: date) -> Asked:
    """What is due, narrowed. A filter that is not valid narrows nothing but to the depots: the form says why."""
    data = form.cleaned_data if form.is_valid() else {}
    as_of = data.get("as_of") or today
    items = Item.objects.all()
    if word := data.get("q"):
        items = items.filter(tag__icontains=word)
    for name in ("kind", "state", "custody"):
        if data.get(name):
            items = items.filter(**{name: data[name]})
    own = [data["depot"].pk] if data.get("depot") else [depot.pk for depot in depots]
    within, days = data.get("within"), days_of(data["week"]) if data.get("week") else None
    if days and within is None:
        within = max(0, (days[1] - as_of).days)
    entries = due_list(as_of, within, own, items)
    if days:
        entries = [entry for entry in entries if entry.due_on and days[0] <= entry.due_on <= days[1]]
    if data.get("check"):
        entries = [entry for entry in entries if entry.check == data["check"]]
    if data.get("promised"):
        entries = [entry for entry in entries if entry.job is not None]
    if data.get("stands"):
        entries = [entry for entry in entries if stands(entry, as_of) == data["stands"]]
    return Asked(as_of, entries)


def stands(entry: DueEntry, as_of: date) -> str:
    """never, overdue or falls."""
    if entry.due_on is None:
        return "never"
    return "overdue" if entry.due_on < as_of else "falls"
