"""The checks of a kind as rows of a form."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.actions import CheckSpec
from inspections.judging import Interval, IntervalFault
from inspections.models import Basis, Check
from kit.forms.item import LineField
from kit.models import Kind

SPARE_ROWS = 2
MOST_CHECKS = 30
MOST_EARLY_DAYS = 3650


class CheckForm(forms.Form):
    """One check; a row with no name is left out. The name of a check that has records stays what it is."""

    name = LineField(label=gettext_lazy("Check"), max_length=80, required=False)
    interval = LineField(
        label=gettext_lazy("Due every"),
        max_length=20,
        required=False,
    )
    basis = forms.ChoiceField(
        label=gettext_lazy("Counted"), choices=Basis.choices, initial=Basis.DONE, required=False
    )
    early_days = forms.IntegerField(
        label=gettext_lazy("May be early by, days"),
        min_value=0,
        max_value=MOST_EARLY_DAYS,
        required=False,
    )
    source = LineField(
        label=gettext_lazy("Where it comes from"),
        max_length=200,
        required=False,
    )
    gates = forms.BooleanField(
        label=gettext_lazy("Without it the item does not go out"), initial=True, required=False
    )
    after_use = forms.BooleanField(label=gettext_lazy("A use calls for it again"), required=False)

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"]
        if name.casefold() == "use-by":
            raise forms.ValidationError(
                _("use-by is the name of the use-by date in the due list: give the check another name.")
            )
        return name

    def clean_interval(self) -> str:
        text: str = self.cleaned_data["interval"]
        if not text:
            return text
        try:
            return str(Interval.parse(text))
        except IntervalFault as fault:
            raise forms.ValidationError(str(fault)) from None

    @property
    def given_up(self) -> bool:
        """Whether the row holds nothing, or is ticked to be asked for no more."""
        data = self.cleaned_data
        return bool(data.get("DELETE")) or not (data.get("name") or data.get("interval"))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.given_up:
            return data
        if not data.get("name") and "name" not in self.errors:
            self.add_error("name", _("Name the check."))
        if not data.get("interval") and "interval" not in self.errors:
            self.add_error(
                "interval", _("Say how often it is due: P6M is 6 months, P90D 90 days, P1Y a year.")
            )
        if data.get("early_days") and data.get("basis") == Basis.DONE:
            self.add_error(
                "early_days",
                _("Counted from the day done nothing can be early: leave this empty, or take the grid."),
            )
        return data


class BaseChecks(forms.BaseFormSet):
    def add_fields(self, form: forms.Form, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = gettext_lazy("Ask for it no more")

    def clean(self) -> None:
        if any(self.errors):
            return
        names = [form.cleaned_data["name"].casefold() for form in self.rows()]
        if twice := {name for name in names if names.count(name) > 1}:
            raise forms.ValidationError(
                _("Two checks are called %(names)s: give each a name of its own."),
                params={"names": ", ".join(twice)},
            )

    def rows(self) -> list[CheckForm]:
        return [form for form in self.forms if not form.given_up]

    def specs(self, kind: Kind) -> list[CheckSpec]:
        """The checks as they are to be. What this form does not ask of a check stays as it is."""
        known = {check.name.casefold(): check for check in Check.objects.filter(kind=kind)}
        return [
            _spec(form.cleaned_data, known.get(form.cleaned_data["name"].casefold())) for form in self.rows()
        ]


def _spec(data: dict[str, Any], check: Check | None) -> CheckSpec:
    name = check.name if check else data["name"]
    return CheckSpec(
        name,
        interval=data["interval"],
        basis=data["basis"] or Basis.DONE,
        early_days=data["early_days"] or 0,
        source=data["source"],
        gates=data["gates"],
        after_use=data["after_use"],
    )


def checks_of(kind: Kind) -> list[dict[str, Any]]:
    """The checks in force as initial values."""
    names = list(CheckForm.base_fields)
    return [
        {name: getattr(check, name) for name in names}
        for check in Check.objects.in_force().filter(kind=kind).order_by("name")
    ]


def checks_formset() -> type[BaseChecks]:
    return forms.formset_factory(
        CheckForm,
        formset=BaseChecks,
        extra=SPARE_ROWS,
        can_delete=True,
        max_num=MOST_CHECKS,
        absolute_max=MOST_CHECKS + 10,
        validate_max=True,
    )
