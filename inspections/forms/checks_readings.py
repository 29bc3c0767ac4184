"""What is read at a check, as rows that a person adds, moves and takes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from inspections.forms.answers import AnswersMixin
from inspections.judging import Form
from inspections.judging.forms import MOST_FIELDS
from inspections.judging.shipped_forms import SHIPPED_FORMS
from inspections.reading_rows import COLUMNS, RowFault, form_of_rows
from kit.forms.item import LineField
from kit.sentences import said

PREFIX = "reading"
MAIN = ("label", "kind", "unit", "choices", "wanted", "doubtful", "least", "most", "guard", "help", "needed")
FURTHER = tuple(name for name in COLUMNS if name not in MAIN)
KINDS = [
    ("yes-no", gettext_lazy("yes or no")),
    ("choice", gettext_lazy("choice")),
    ("number", gettext_lazy("number")),
    ("text", gettext_lazy("text")),
    ("date", gettext_lazy("date")),
    ("ratio", gettext_lazy("worked out: one number against another, in %")),
]
BREACHES = [("", gettext_lazy("a fail")), ("doubt", gettext_lazy("a doubt"))]


def _text(label: Any, most: int = 120, help_text: Any = "") -> LineField:
    return LineField(label=label, max_length=most, required=False, help_text=help_text)


class ReadingRow(forms.Form):
    """One reading; nothing is required here: `form_of_rows` says what lacks, at its field."""

    label = _text(gettext_lazy("What people read"))
    kind = forms.ChoiceField(label=gettext_lazy("Answered by"), choices=KINDS, required=False)
    unit = _text(gettext_lazy("Unit"), 20)
    choices = _text(gettext_lazy("Choices"), 500, gettext_lazy("Parted by semicolons: sound; worn; damaged"))
    wanted = _text(gettext_lazy("Answers that pass"), 500, gettext_lazy("None: any passes."))
    doubtful = _text(gettext_lazy("Answers that cast doubt"), 500)
    least = _text(gettext_lazy("Least"), 26)
    most = _text(gettext_lazy("Most"), 26)
    guard = _text(gettext_lazy("Guard"), 26, gettext_lazy("Closer to a limit than this is a doubt."))
    help = _text(gettext_lazy("Help beside it"), 500)
    needed = forms.BooleanField(label=gettext_lazy("Must be answered"), required=False)
    name = _text(gettext_lazy("Name in the records"), 40, gettext_lazy("Empty: made of what people read."))
    measured = _text(gettext_lazy("Worked out from"), 40, gettext_lazy("The name of an earlier number."))
    against = _text(gettext_lazy("Against"), 40, gettext_lazy("The name of the number it is counted in."))
    breach = forms.ChoiceField(label=gettext_lazy("Breaking it is"), choices=BREACHES, required=False)
    needed_if = _text(
        gettext_lazy("Only if"), 500, gettext_lazy("Earlier name = its answers: fitted = works; worn")
    )
    not_before_test = forms.BooleanField(
        label=gettext_lazy("Not before the day of the check"), required=False
    )
    not_after_test = forms.BooleanField(label=gettext_lazy("Not after the day of the check"), required=False)
    source = _text(gettext_lazy("Where its limit comes from"), 300)

    @property
    def main(self) -> list[forms.BoundField]:
        return [self[name] for name in MAIN]

    @property
    def further(self) -> list[forms.BoundField]:
        return [self[name] for name in FURTHER]

    @property
    def opens(self) -> bool:
        """Whether what stands among the further settings should be in sight."""
        told = [self[name] for name in FURTHER if name not in ("name", "source")]
        return any(field.errors for field in self.further) or any(field.value() for field in told)


Rows = forms.formset_factory(ReadingRow, extra=0, max_num=MOST_FIELDS, absolute_max=MOST_FIELDS + 5)


def rows_sent(data: Mapping[str, str]) -> list[dict[str, str]]:
    """The rows as typed, empty ones left out."""
    try:
        number = min(int(data.get(f"{PREFIX}-TOTAL_FORMS", 0)), MOST_FIELDS + 5)
    except ValueError:
        number = 0
    rows = [{name: data.get(f"{PREFIX}-{index}-{name}", "") for name in COLUMNS} for index in range(number)]
    return [
        row for row in rows if any(row[name].strip() for name in COLUMNS if name not in ("kind", "needed"))
    ]


def rearranged(rows: list[dict[str, str]], do: str) -> list[dict[str, str]]:
    """The rows after the button `add`, `up-N`, `down-N` or `out-N`; N counts from 0."""
    what, _dash, place = do.partition("-")
    listed = list(rows)
    number = int(place) if place.isdecimal() else -1
    if what == "add" and len(listed) < MOST_FIELDS:
        listed.append({"kind": "yes-no", "wanted": "yes", "needed": "yes"})
    elif 0 <= number < len(listed):
        if what == "out":
            del listed[number]
        else:
            other = number - 1 if what == "up" else number + 1
            if 0 <= other < len(listed):
                listed[number], listed[other] = listed[other], listed[number]
    return listed


def shown_rows(rows: Sequence[Mapping[str, str]], faults: Sequence[RowFault] = ()) -> Any:
    """The rows as a formset, each fault at its field."""
    formset = Rows(initial=[dict(row) for row in rows], prefix=PREFIX)
    if faults:
        formset = Rows(_data(rows), prefix=PREFIX)
        formset.is_valid()
        for fault in faults:
            if fault.row is not None:
                formset.forms[fault.row].add_error(fault.column, fault.sentence)
    return formset


def _data(rows: Sequence[Mapping[str, str]]) -> dict[str, str]:
    data = {f"{PREFIX}-TOTAL_FORMS": str(len(rows)), f"{PREFIX}-INITIAL_FORMS": "0"}
    for index, row in enumerate(rows):
        data |= {f"{PREFIX}-{index}-{name}": text for name, text in row.items() if text}
    return data


class BenchForm(AnswersMixin, forms.Form):
    """The readings as the bench will ask for them."""

    def __init__(self, form: Form) -> None:
        super().__init__(prefix="as-shown")
        self.ask(form)


def as_shown(rows: Sequence[Mapping[str, str]]) -> BenchForm | None:
    """The form that the rows make, as the bench would show it; None while they make none."""
    found = form_of_rows(rows)
    return BenchForm(found) if isinstance(found, Form) else None


def shipped_choices() -> list[tuple[str, str]]:
    """The shipped forms to start from: (kind|check, words)."""
    return [(f"{one.kind}|{one.check}", f"{said(one.kind)}: {said(one.check)}") for one in SHIPPED_FORMS]
