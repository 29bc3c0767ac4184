"""What was typed into a form, read strictly: a typed answer for each field, or a sentence for each fault."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Final, NamedTuple

from inspections.judging.form_fields import Field, has_unseen, match_answer
from inspections.judging.forms import Form
from kit.planning.printed_dates import DateFault, read_printed_date

TEXT_LIMIT: Final = 500
_NUMBER: Final = re.compile(r"([+-]?)([0-9]{1,12})(?:([.,])([0-9]{1,12}))?\s*([^\d\s.,].*)?")
_YES: Final = frozenset({"yes", "y", "true", "1", "ja", "j"})
_NO: Final = frozenset({"no", "n", "false", "0", "nein"})


class Number(NamedTuple):
    """A number as it was written (0.20 keeps its nought) in the unit of its field."""

    value: Decimal
    unit: str


Answer = Number | date | str
"""By kind of field: a number; a date; for a yes-no, a choice and a text the text itself."""


class AnswerFault(NamedTuple):
    """Why the answer to `field` cannot be taken, and what to write."""

    field: str
    sentence: str


class _Unreadable(ValueError):
    """The sentence of a fault on its way to the list of them."""


def read_answers(
    form: Form, texts: Mapping[str, str], done_on: date
) -> dict[str, Answer] | list[AnswerFault]:
    """The answers in the order of the form, or every fault, one a field.

    `texts` are by name of field; an empty text is no answer, and a name that the form does not ask for is
    a fault. Numbers may carry their unit and a decimal comma, but nothing that can be read in two ways.
    Dates are YYYY-MM-DD or DD/MM/YYYY. `done_on` is the day of the check.
    """
    answers: dict[str, Answer] = {}
    faults: list[AnswerFault] = []
    for field in form.asked:
        text = " ".join(texts.get(field.name, "").split())
        try:
            if text:
                answers[field.name] = _READERS[field.kind](field, text, done_on)
            elif _is_needed(field, answers):
                raise _Unreadable(f"{field.label} is not answered; {_wanted(field)}.")
        except _Unreadable as fault:
            faults.append(AnswerFault(field.name, str(fault)))
    faulty = {fault.field for fault in faults}
    faults += _ratio_faults(form, answers, faulty)
    asked = {field.name for field in form.asked}
    faults += [
        AnswerFault(name, f"{name!r} is not asked for on this form; leave it out.")
        for name in texts
        if name not in asked
    ]
    return faults or answers


def answers_as_texts(answers: Mapping[str, Answer]) -> dict[str, str]:
    """The answers as plain texts, numbers without their unit, which `read_answers` reads back as they were."""
    return {name: _as_text(answer) for name, answer in answers.items()}


def _as_text(answer: Answer) -> str:
    if isinstance(answer, Number):
        return f"{answer.value:f}"
    return answer.isoformat() if isinstance(answer, date) else answer


def _is_needed(field: Field, answers: Mapping[str, Answer]) -> bool:
    if field.needed_if is None:
        return field.needed
    name, deciding = field.needed_if
    return field.needed and answers.get(name) in deciding


def _ratio_faults(form: Form, answers: Mapping[str, Answer], faulty: set[str]) -> list[AnswerFault]:
    """A ratio needs both its numbers or neither, and the one it is counted against above 0."""
    labels = {field.name: field.label for field in form.fields}
    faults: dict[str, str] = {}
    for ratio in form.fields:
        pair = (ratio.measured, ratio.against)
        if ratio.kind != "ratio" or faulty.intersection(pair):
            continue
        missing = [name for name in pair if name not in answers]
        if len(missing) == 1:
            faults.setdefault(
                missing[0],
                f"{labels[missing[0]]} is not answered, and {ratio.label} is worked out from it; "
                "write it, or leave both numbers out.",
            )
        against = answers.get(ratio.against)
        if isinstance(against, Number) and against.value <= 0:
            faults.setdefault(
                ratio.against,
                f"{labels[ratio.against]} is {against.value:f}, and {ratio.label} is counted against it; "
                "write a number above 0.",
            )
    return [AnswerFault(name, sentence) for name, sentence in faults.items()]


def _read_number(field: Field, text: str, done_on: date) -> Answer:
    typed = unicodedata.normalize("NFKC", text).replace("\u2212", "-")
    found = _NUMBER.fullmatch(typed)
    if found is None:
        raise _Unreadable(f"{_shown(text)} is not a number for {field.label}; {_wanted(field)}.")
    sign, whole, mark, fraction, unit = found.groups()
    if unit and unit.casefold() != unicodedata.normalize("NFKC", field.unit).casefold():
        raise _Unreadable(
            f"{field.label} is read in {field.unit or 'no unit'}, and {_shown(text)} is not; {_wanted(field)}."
        )
    if mark == "," and len(fraction) == 3 and len(whole) <= 3 and not whole.startswith("0"):
        raise _Unreadable(
            f"{field.label} is written {_shown(text)}: {whole}.{fraction} or {whole}{fraction}? Write what is meant."
        )
    return Number(Decimal(f"{sign}{whole}" + (f".{fraction}" if fraction else "")), field.unit)


def _read_yes_no(field: Field, text: str, done_on: date) -> Answer:
    word = text.casefold()
    if word not in _YES | _NO:
        raise _Unreadable(f"{field.label} is answered {_shown(text)}; {_wanted(field)}.")
    return "yes" if word in _YES else "no"


def _read_choice(field: Field, text: str, done_on: date) -> Answer:
    choice = match_answer(text, field.choices)
    if choice is None:
        raise _Unreadable(f"{field.label} is answered {_shown(text)}; {_wanted(field)}.")
    return choice


def _read_date(field: Field, text: str, done_on: date) -> Answer:
    try:
        day = read_printed_date(text, want="day", today=done_on).day
    except DateFault as fault:
        raise _Unreadable(f"{field.label}: {fault}") from fault
    if field.not_after_test and day > done_on:
        raise _Unreadable(
            f"{field.label} is {day.isoformat()}, after the check on {done_on.isoformat()}; "
            "write the day that it was."
        )
    return day


def _read_text(field: Field, text: str, done_on: date) -> Answer:
    if len(text) > TEXT_LIMIT:
        raise _Unreadable(
            f"{field.label} has {len(text)} characters, and {TEXT_LIMIT} is the most; shorten it."
        )
    if has_unseen(text):
        raise _Unreadable(f"{field.label} holds a character that nobody can see; type the text again.")
    return text


_READERS: Final = {
    "number": _read_number,
    "yes-no": _read_yes_no,
    "choice": _read_choice,
    "date": _read_date,
    "text": _read_text,
}


def _wanted(field: Field) -> str:
    """What to write there, as the end of a sentence."""
    if field.kind == "number":
        return (
            f"write a number of {field.unit}, such as 12.5" if field.unit else "write a number, such as 12.5"
        )
    if field.answers:
        return f"write {' or '.join(field.answers)}" if len(field.answers) == 2 else _one_of(field.answers)
    return "write a day as 31/03/2027 or 2027-03-31" if field.kind == "date" else "write it"


def _one_of(answers: tuple[str, ...]) -> str:
    return f"write one of {', '.join(answers)}"


def _shown(text: str) -> str:
    """What was typed, in quotes, cut to 40 characters and free of what nobody can see."""
    return repr(text if len(text) <= 40 else text[:39] + "…")
