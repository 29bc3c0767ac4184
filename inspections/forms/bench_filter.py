"""What the work list of the bench can be narrowed by, and which check a batch is of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspections.due_list import DueEntry
from inspections.models import Check, Method
from kit.forms.choices import named
from kit.sentences import said


class BenchFilter(forms.Form):
    """Choices are what stands on the list, so that no filter leads to nothing."""

    kind = forms.ChoiceField(label=_("Kind"), required=False)
    check = forms.ChoiceField(label=_("Check"), required=False)
    place = forms.ChoiceField(label=_("Place"), required=False)

    def __init__(self, *args: Any, entries: Sequence[DueEntry], **more: Any) -> None:
        super().__init__(*args, **more)
        for name in ("kind", "check", "place"):
            values = sorted({value for entry in entries if (value := getattr(entry, name))})
            offered = [(value, value) for value in values] if name == "place" else named(values)
            self.fields[name].choices = [("", _("any")), *offered]  # type: ignore[attr-defined]

    def narrowed(self, rows: list[tuple[DueEntry, Any]]) -> list[tuple[DueEntry, Any]]:
        """The rows that match; a filter that is not valid narrows nothing."""
        data = self.cleaned_data if self.is_valid() else {}
        wanted = {name: value for name, value in data.items() if value}
        return [row for row in rows if all(getattr(row[0], name) == value for name, value in wanted.items())]


class BatchOfForm(forms.Form):
    """Begin a batch of one check; those with readings of their own cannot be recorded so."""

    check = forms.ModelChoiceField(Check.objects.none(), label=_("Check"), empty_label=_("choose"))

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        field: Any = self.fields["check"]
        field.queryset = (
            Check.objects.in_force()
            .filter(method=Method.PLAIN)
            .select_related("kind")
            .order_by("kind__name", "name")
        )
        field.label_from_instance = lambda one: f"{said(one.kind.name)}: {said(one.name)}"
