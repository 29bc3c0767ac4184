"""What is entered of one inspection, test, calibration or thorough examination."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.models import Check, Verdict
from kit.forms.choices import NameField
from kit.forms.item import LineField
from kit.forms.item_acts import day_input
from kit.models import Item

VERDICTS = [
    (Verdict.PASS, gettext_lazy("Pass")),
    (Verdict.FAIL, gettext_lazy("Fail")),
    (Verdict.DOUBT, gettext_lazy("In doubt")),
]


class RecordForm(forms.Form):
    check_done = NameField(
        Check.objects.none(), label=gettext_lazy("Which check"), empty_label=gettext_lazy("choose")
    )
    done_on = forms.DateField(label=gettext_lazy("Done on"), widget=day_input())
    verdict = forms.ChoiceField(
        label=gettext_lazy("Verdict"),
        choices=VERDICTS,
        widget=forms.RadioSelect,
        help_text=gettext_lazy("A fail sets the item aside. A piece in doubt does not go out."),
    )
    by = LineField(
        label=gettext_lazy("Done by"),
        max_length=150,
        required=False,
        help_text=gettext_lazy("If somebody else than you. Nobody may release what they failed."),
    )
    certificate = LineField(label=gettext_lazy("Certificate"), max_length=120, required=False)
    note = forms.CharField(
        label=gettext_lazy("What was found"),
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy("Needed for a fail or a doubt; it goes on the defect tag."),
    )

    def __init__(self, *args: Any, item: Item, check: str = "", **more: Any) -> None:
        checks = Check.objects.in_force().filter(kind=item.kind_id).order_by("name")
        asked = [one for one in checks if one.name == check] or (list(checks) if len(checks) == 1 else [])
        initial = {"done_on": timezone.localdate(), "check_done": asked[0] if asked else None}
        super().__init__(*args, initial=initial, **more)
        field: Any = self.fields["check_done"]
        field.queryset = checks

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("verdict") in (Verdict.FAIL, Verdict.DOUBT) and not data.get("note"):
            self.add_error("note", _("Write what was found: whoever investigates has only this to go by."))
        return data


class ReleaseForm(forms.Form):
    findings = forms.CharField(
        label=gettext_lazy("What was found, and why it may go back"),
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 4, "autofocus": True}),
        help_text=gettext_lazy("Goes into the ledger under your name, and stays there."),
    )
