"""What is entered when a concession is asked for, decided or ended. What is missing the actions say themselves."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspections.models import Check
from kit.forms.choices import NameField
from kit.forms.item_acts import day_input
from kit.models import Item


def _text(label: Any, most: int, help_text: Any = "", **more: Any) -> forms.CharField:
    return forms.CharField(
        label=label, max_length=most, widget=forms.Textarea(attrs={"rows": 3}), help_text=help_text, **more
    )


class AskForm(forms.Form):
    check_due = NameField(Check.objects.none(), label=_("Which check"), empty_label=_("choose"))
    until = forms.DateField(
        label=_("In date until"),
        widget=day_input(),
        help_text=_("The last day on which it may be used without the check; that day belongs to it."),
    )
    reason = _text(_("Why the check cannot be done in time"), 500)
    risk = _text(_("What the risk is, and why it can be borne"), 500)
    conditions = _text(
        _("Conditions"), 500, _("Printed on the load list and told at the counter."), required=False
    )

    def __init__(self, *args: Any, item: Item, check: str = "", **more: Any) -> None:
        checks = Check.objects.in_force().filter(kind=item.kind_id).order_by("name")
        asked = [one for one in checks if one.name == check] or (list(checks) if len(checks) == 1 else [])
        super().__init__(*args, initial={"check_due": asked[0] if asked else None}, **more)
        field: Any = self.fields["check_due"]
        field.queryset = checks


class GrantForm(forms.Form):
    note = _text(_("Note of the decision"), 500, required=False)


class RefuseForm(forms.Form):
    note = _text(_("Why it is refused"), 500)


class EndForm(forms.Form):
    why = _text(_("Why it is ended early"), 400)
