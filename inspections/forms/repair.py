"""What is asked before a repair is noted or a re-test is ordered."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from inspections.bench import checks_asked
from inspections.models import Check
from kit.forms.choices import NameField
from kit.models import Item


class RepairForm(forms.Form):
    what = forms.CharField(
        label=gettext_lazy("What was repaired"),
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 3, "autofocus": True}),
        help_text=gettext_lazy("What was done, with which parts, and by whom if it was sent away."),
    )


class RetestForm(forms.Form):
    """Which check, and why: the checks are those asked of the item."""

    check_called = NameField(
        Check.objects.none(),
        to_field_name="name",
        label=gettext_lazy("Check"),
        empty_label=gettext_lazy("choose"),
    )
    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy("Whoever tests it must know what to look for."),
    )

    def __init__(self, *args: Any, item: Item, **more: Any) -> None:
        super().__init__(*args, **more)
        asked = Check.objects.filter(pk__in=[check.pk for check in checks_asked(item)]).order_by("name")
        field: Any = self.fields["check_called"]
        field.queryset = asked
        if len(asked) == 1:
            field.initial = asked[0].name
