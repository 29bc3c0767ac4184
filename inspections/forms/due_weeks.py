"""What the work ahead can be narrowed by."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspections.due_list import USE_BY
from inspections.models import Check
from kit.forms.choices import NameField, named
from kit.models import Depot, Kind


class DueWeeksFilter(forms.Form):
    """`depots` are those the person works at, and nothing else is ever counted."""

    depot = forms.ModelChoiceField(
        Depot.objects.none(),
        to_field_name="code",
        label=_("Depot"),
        empty_label=_("all of yours"),
        required=False,
    )
    kind = NameField(
        Kind.objects.all(), to_field_name="name", label=_("Kind"), empty_label=_("any"), required=False
    )
    check = forms.ChoiceField(label=_("Check"), required=False)

    def __init__(self, *args: Any, depots: list[Depot], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["depot"].queryset = Depot.objects.filter(pk__in=[depot.pk for depot in depots])
        names = Check.objects.in_force().order_by("name").values_list("name", flat=True).distinct()
        self.fields["check"].choices = [
            ("", _("any")),
            *named(names),
            (USE_BY, _("use-by date")),
        ]
