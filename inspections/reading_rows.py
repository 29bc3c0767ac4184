"""The form of a check as rows of plain texts, as a screen or a sheet brings them, one row a reading."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from inspections.judging import Field, Form, FormFault

COLUMNS: Final = (
    "name",
    "label",
    "kind",
    "choices",
    "unit",
    "least",
    "most",
    "guard",
    "wanted",
    "doubtful",
    "needed",
    "help",
    "measured",
    "against",
    "breach",
    "needed_if",
    "not_before_test",
    "not_after_test",
    "source",
)
"""What a row may say. Answers are parted by semicolons; `needed_if` is written `field = answer; answer`."""

_LISTS: Final = ("choices", "wanted", "doubtful")
_NUMBERS: Final = ("least", "most", "guard")
_TICKS: Final = ("needed", "not_before_test", "not_after_test")
_YES: Final = ("yes", "on", "true", "1")
_NUMBER: Final = re.compile(r"-?[0-9]{1,12}(?:[.,][0-9]{1,12})?")
_NOT_IN_A_NAME: Final = re.compile(r"[^a-z0-9]+")

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class RowFault:
    """What is wrong in a row (counted from 0; None: in no one of them), and in which column of it."""

    row: int | None
    column: str
    sentence: str


class _ColumnFault(FormFault):
    """A fault that knows its column."""

    def __init__(self, column: str, sentence: str) -> None:
        super().__init__(sentence)
        self.column = column


def rows_of(form: Form) -> list[dict[str, str]]:
    """The form as rows, which `form_of_rows` reads back as it was."""
    return [_row(field) for field in form.fields]


def form_of_rows(rows: Sequence[Row], source: str = "") -> Form | list[RowFault]:
    """The form that the rows say, or every fault. A row without a name is named after its label."""
    fields: list[Field] = []
    faults: list[RowFault] = []
    names = {row.get("name", "").strip() for row in rows}
    for number, row in enumerate(rows):
        name = row.get("name", "").strip() or _free_name(row.get("label", ""), names)
        names.add(name)
        try:
            fields.append(_field({**row, "name": name}))
        except FormFault as fault:
            faults.append(RowFault(number, _column(row, name, fault), str(fault)))
    return faults or _whole(fields, source)


def _whole(fields: list[Field], source: str) -> Form | list[RowFault]:
    """The form, or the fault of the first row that does not go with those before it."""
    for number in range(1, len(fields) + 1):
        try:
            Form(tuple(fields[:number]))
        except FormFault as fault:
            last = fields[number - 1]
            twice = last.name in {field.name for field in fields[: number - 1]}
            column = "name" if twice else "needed_if" if last.needed_if else "measured"
            return [RowFault(number - 1, column, str(fault))]
    try:
        return Form(tuple(fields), source)
    except FormFault as fault:
        return [RowFault(None, "name", str(fault))]


def _field(row: Row) -> Field:
    data: dict[str, object] = {}
    for column in COLUMNS:
        text = " ".join(row.get(column, "").split())
        if column in _TICKS:
            ticked = text.casefold() in _YES
            if column == "needed" or ticked:
                data[column] = ticked
        elif text:
            data[column] = _value(column, text)
    for column in ("name", "label", "kind"):
        data.setdefault(column, "")
    return Field.from_json(data, "The reading")


def _value(column: str, text: str) -> object:
    if column in _LISTS:
        return _answers(text)
    if column in _NUMBERS:
        typed = unicodedata.normalize("NFKC", text).replace("\u2212", "-")
        if not _NUMBER.fullmatch(typed):
            raise _ColumnFault(column, f"{text!r} is not a number; write it such as 0.25.")
        return typed.replace(",", ".")
    if column == "needed_if":
        decider, sign, answers = text.partition("=")
        if not sign:
            raise _ColumnFault(column, f"{text!r} names no answer; write the field = the answer; or another.")
        return {"field": decider.strip(), "answers": _answers(answers)}
    return text


def _answers(text: str) -> list[str]:
    return [answer.strip() for answer in text.split(";") if answer.strip()]


def _column(row: Row, name: str, fault: FormFault) -> str:
    """The column at fault: the first without which the row could be."""
    if isinstance(fault, _ColumnFault):
        return fault.column
    for column in COLUMNS[3:]:
        if not row.get(column, "").strip():
            continue
        try:
            _field({**row, "name": name, column: ""})
        except FormFault:
            continue
        return column
    if not row.get("label", "").strip():
        return "label"
    if not is_name(name):
        return "name"
    return "choices" if row.get("kind") == "choice" else "measured" if row.get("kind") == "ratio" else "kind"


def _row(field: Field) -> dict[str, str]:
    said = field.as_json()
    row = dict.fromkeys(COLUMNS, "")
    for column, value in said.items():
        if isinstance(value, bool):
            row[column] = "yes" if value else ""
        elif isinstance(value, list):
            row[column] = "; ".join(value)
        elif isinstance(value, dict):
            row[column] = f"{value['field']} = {'; '.join(value['answers'])}"
        else:
            row[column] = str(value)
    row["needed"] = "yes" if field.needed else ""
    return row


def is_name(text: str) -> bool:
    """Whether a field can be called so."""
    try:
        Field(text, "any", "text")
    except FormFault:
        return False
    return True


def _free_name(label: str, taken: set[str]) -> str:
    """A name made of the label that no other row has."""
    plain = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode().casefold()
    base = _NOT_IN_A_NAME.sub("_", plain).strip("_")[:30].strip("_")
    if not base or not base[0].isalpha():
        base = f"reading_{base}".strip("_")
    name, number = base, 2
    while name in taken:
        name, number = f"{base}_{number}", number + 1
    return name
