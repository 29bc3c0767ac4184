"""The form of a check as fields on a screen, rendered from its data (inspections.judging.forms)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.forms.readings import GaugeField, offer
from inspections.judging import AnswerFault, Field, Form
from kit.forms.item import LineField
from kit.forms.item_acts import day_input
from kit.models import Item
from kit.sentences import said

PREFIX = "a_"


class AnswersMixin:
    """Adds the fields of a form of data; `texts` are the answers as typed, by name of field, for `record_answers`."""

    fields: dict[str, Any]
    cleaned_data: dict[str, Any]

    def ask(self, form: Form) -> None:
        self.asked_names = [PREFIX + field.name for field in form.asked]
        for field in form.asked:
            self.fields[PREFIX + field.name] = _field(field, form)

    @property
    def answers(self) -> list[Any]:
        return [self[name] for name in self.asked_names]  # type: ignore[index]

    @property
    def texts(self) -> dict[str, str]:
        return {name.removeprefix(PREFIX): self.cleaned_data.get(name, "") for name in self.asked_names}

    def put_faults(self, faults: Iterable[AnswerFault]) -> None:
        """Each fault at its own field."""
        for fault in faults:
            name = PREFIX + fault.field
            self.add_error(name if name in self.fields else None, fault.sentence)  # type: ignore[attr-defined]


def _field(field: Field, form: Form) -> forms.Field:
    """Nothing is required here: `read_answers` says what lacks, in the words of the form."""
    labels = {one.name: said(one.label) for one in form.fields}
    help_text = said(field.help)
    if field.needed_if:
        decider, answers = field.needed_if
        asked = _("Asked for if %(label)s is: %(answers)s.") % {
            "label": labels[decider],
            "answers": ", ".join(said(answer) for answer in answers),
        }
        help_text = f"{help_text} {asked}".strip()
    label = f"{labels[field.name]}, {field.unit}" if field.unit else labels[field.name]
    made: forms.Field
    if field.answers:
        choices = [(answer, said(_(answer))) for answer in field.answers]
        made = forms.ChoiceField(choices=choices, widget=forms.RadioSelect)
    elif field.kind == "date":
        made = forms.CharField(widget=day_input())
    elif field.kind == "number":
        made = LineField(widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
    else:
        made = LineField(max_length=500)
    made.required = False
    made.label, made.help_text = label, help_text
    made.always_needed = field.always_needed  # type: ignore[attr-defined]
    return made


class AnswersForm(AnswersMixin, forms.Form):
    """One check of one item, read into its form."""

    done_on = forms.DateField(label=gettext_lazy("Done on"), widget=day_input())
    gauge = GaugeField(required=False, label=gettext_lazy("Gauge it was read on"))
    by = LineField(
        label=gettext_lazy("Done by"),
        max_length=150,
        required=False,
        help_text=gettext_lazy("If somebody else than you. Nobody may release what they failed."),
    )
    certificate = LineField(label=gettext_lazy("Certificate"), max_length=120, required=False)
    note = LineField(label=gettext_lazy("What was found besides"), max_length=400, required=False)

    def __init__(self, *args: Any, form: Form, gauges: list[Item], **more: Any) -> None:
        more["initial"] = {"done_on": timezone.localdate(), **more.get("initial", {})}
        super().__init__(*args, **more)
        offer(self.fields["gauge"], gauges)
        self.ask(form)

    @property
    def others(self) -> list[Any]:
        return [self[name] for name in ("done_on", "gauge", "by", "certificate", "note")]


class SharedForm(AnswersMixin, forms.Form):
    """What a batch has in common: the day, who, and with a form of data the answers."""

    done_on = forms.DateField(label=gettext_lazy("Done on"), widget=day_input())
    by = LineField(label=gettext_lazy("Done by"), max_length=150, required=False)
    certificate = LineField(label=gettext_lazy("Certificate"), max_length=120, required=False)
    note = LineField(
        label=gettext_lazy("Note on each"),
        max_length=300,
        required=False,
        help_text=gettext_lazy("What was found of those that failed stands at each of them."),
    )

    def __init__(self, *args: Any, form: Form | None, **more: Any) -> None:
        more["initial"] = {"done_on": timezone.localdate(), **more.get("initial", {})}
        super().__init__(*args, **more)
        self.asked_names: list[str] = []
        if form is not None:
            self.ask(form)

    @property
    def others(self) -> list[Any]:
        return [self[name] for name in ("done_on", "by", "certificate", "note")]

    def as_typed(self) -> Mapping[str, str]:
        """What stands in the fields, to be kept over a reload."""
        return {name: self.data.get(name, "") for name in self.fields if self.data.get(name)}
