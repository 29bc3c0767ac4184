"""One line of a form of a check: what is read, in which unit, and what the answer must be."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, dataclass, fields
from decimal import Decimal
from typing import Any, Final, Literal, Self, get_args

FieldKind = Literal["number", "yes-no", "choice", "date", "text", "ratio"]
Breach = Literal["fail", "doubt"]

_KINDS: Final = get_args(FieldKind)
_YES_NO: Final = ("yes", "no")
_SLUG: Final = re.compile(r"[a-z][a-z0-9_-]{0,39}")
_DECIMAL: Final = re.compile(r"-?[0-9]{1,12}(?:\.[0-9]{1,12})?")
_SPACES_AND_DASHES: Final = re.compile(r"[\s_\-]+")
_LONGEST: Final = {"label": 120, "unit": 20, "help": 500, "source": 300}
# What only some kinds have; it would mean nothing for the others.
_ONLY_FOR: Final[dict[str, tuple[str, ...]]] = {
    "unit": ("number",),
    "least": ("number", "ratio"),
    "most": ("number", "ratio"),
    "guard": ("number", "ratio"),
    "choices": ("choice",),
    "wanted": ("choice", "yes-no"),
    "doubtful": ("choice", "yes-no"),
    "measured": ("ratio",),
    "against": ("ratio",),
    "not_before_test": ("date",),
    "not_after_test": ("date",),
}


class FormFault(ValueError):
    """A form that cannot be; its words say which field, why, and what to write instead."""


@dataclass(frozen=True, slots=True)
class Field:
    """One line of a form.

    `name` is a slug, `label` what people read. By kind:

    number: in `unit`; it must lie from `least` to `most`, both allowed. Within `guard` of a limit, on
    either side, it is a doubt. Without limits it is only recorded.
    ratio: 100 x (measured - against) / against, in %, from two numbers that stand before it in the form;
    limits and guard as a number has them. It is worked out, never typed.
    yes-no, choice: `wanted` are the answers that pass (none: any passes), `doubtful` those that cast
    doubt, `choices` the answers of a choice.
    date: with `not_before_test` it must not lie before the day of the check; with `not_after_test` a
    later day is a slip of the pen and is not taken.
    text: only recorded.

    `breach` is the verdict of an answer that breaks its requirement. `needed`: it must be answered; with
    `needed_if` (field, answers) only if that earlier choice or yes-no has one of these answers. `help` is
    shown beside it; `source` says where its limit comes from. Raises FormFault for what cannot be.
    """

    name: str
    label: str
    kind: FieldKind
    unit: str = ""
    least: Decimal | None = None
    most: Decimal | None = None
    guard: Decimal = Decimal(0)
    choices: tuple[str, ...] = ()
    wanted: tuple[str, ...] = ()
    doubtful: tuple[str, ...] = ()
    measured: str = ""
    against: str = ""
    not_before_test: bool = False
    not_after_test: bool = False
    breach: Breach = "fail"
    needed: bool = True
    needed_if: tuple[str, tuple[str, ...]] | None = None
    help: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        _check_texts(self)
        _check_settings_of_kind(self)
        _check_limits(self)
        _check_answers(self)

    @property
    def answers(self) -> tuple[str, ...]:
        """The answers that a choice or a yes-no takes; none for other kinds."""
        return _YES_NO if self.kind == "yes-no" else self.choices

    @property
    def judged(self) -> bool:
        """Whether an answer can break a requirement; otherwise it is only recorded."""
        limits = self.least is not None or self.most is not None
        return limits or bool(self.wanted or self.doubtful) or self.not_before_test

    @property
    def always_needed(self) -> bool:
        return self.needed and self.needed_if is None

    @property
    def printed_unit(self) -> str:
        """The unit as it stands behind a number: % for a ratio."""
        return "%" if self.kind == "ratio" else self.unit

    @classmethod
    def from_json(cls, data: object, where: str = "The field") -> Self:
        """A field from a JSON object, limits as texts or whole numbers; a FormFault names `where`."""
        if not isinstance(data, Mapping):
            raise FormFault(f"{where} is {data!r}; write an object with name, label and kind.")
        if isinstance(data.get("name"), str):
            where = f"{where} ({data['name']})"
        known = {field.name: field.default is MISSING for field in fields(cls)}
        for key in data:
            if key not in known:
                raise FormFault(f"{where} has {key!r}, which no field has; it may have {', '.join(known)}.")
        for key, must_be_there in known.items():
            if must_be_there and key not in data:
                raise FormFault(f"{where} has no {key}; write one.")
        return cls(**{key: _from_json(key, f"{key} of {where}", value) for key, value in data.items()})

    def as_json(self) -> dict[str, object]:
        """As `from_json` reads it; a setting that has its usual value is left out."""
        return {
            field.name: _as_json(field.name, getattr(self, field.name))
            for field in fields(self)
            if field.default is MISSING or getattr(self, field.name) != field.default
        }


def folded(text: str) -> str:
    """An answer without case, spaces and dashes, as two spellings of one answer are compared."""
    return _SPACES_AND_DASHES.sub("", unicodedata.normalize("NFKC", text).casefold())


def match_answer(text: str, answers: Iterable[str]) -> str | None:
    """The answer that `text` spells, whatever its case, spaces and dashes; None if none does."""
    return {folded(answer): answer for answer in answers}.get(folded(text))


def has_unseen(text: str) -> bool:
    """Whether a text holds control characters, line breaks, or marks that nobody sees."""
    return any(unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co", "Cn") for character in text)


def _check_texts(field: Field) -> None:
    if not isinstance(field.name, str) or not _SLUG.fullmatch(field.name):
        raise FormFault(
            f"{field.name!r} cannot name a field; write up to 40 small letters, digits, - and _, "
            "a letter first, such as link_wear."
        )
    if not field.label.strip():
        raise FormFault(f"{field.name!r} has no label; write what people are to read there.")
    for setting, most in _LONGEST.items():
        text = getattr(field, setting)
        if len(text) > most or has_unseen(text):
            raise FormFault(f"The {setting} of {field.name!r} is not one line of {most} characters at most.")
    if field.kind not in _KINDS:
        raise FormFault(f"{field.name!r} is of the kind {field.kind!r}; write one of {', '.join(_KINDS)}.")
    if field.breach not in get_args(Breach):
        raise FormFault(f"The breach of {field.name!r} is {field.breach!r}; write fail or doubt.")


def _check_settings_of_kind(field: Field) -> None:
    usual = {one.name: one.default for one in fields(field)}
    for setting, kinds in _ONLY_FOR.items():
        if field.kind not in kinds and getattr(field, setting) != usual[setting]:
            raise FormFault(
                f"{field.name!r} has {setting}, which means nothing for the kind {field.kind}; "
                f"leave it out, or make it a {' or '.join(kinds)}."
            )
    if field.breach != "fail" and not field.judged:
        raise FormFault(
            f"{field.name!r} has a breach but nothing that could be broken; give it a limit or leave it out."
        )
    if field.kind == "ratio" and (not field.measured or not field.against or field.measured == field.against):
        raise FormFault(f"The ratio {field.name!r} needs two different numbers: name measured and against.")


def _check_limits(field: Field) -> None:
    for limit in (field.least, field.most, field.guard):
        if limit is not None and not _DECIMAL.fullmatch(f"{limit:f}"):
            raise FormFault(
                f"{limit} cannot be a limit of {field.name!r}; write at most 12 digits before and after the point."
            )
    if field.guard < 0:
        raise FormFault(f"The guard of {field.name!r} is {field.guard:f}; write 0 or more.")
    if field.guard and field.least is None and field.most is None:
        raise FormFault(f"{field.name!r} has a guard and no limit; give least or most, or leave it out.")
    if field.least is not None and field.most is not None and field.least > field.most:
        raise FormFault(
            f"The least of {field.name!r}, {field.least:f}, is above the most, {field.most:f}; swap them?"
        )
    # Twelve digits on either side of the point at most: these sums stay within the 28 digits of Decimal.
    if (
        field.least is not None
        and field.most is not None
        and field.least + field.guard > field.most - field.guard
    ):
        raise FormFault(
            f"With a guard of {field.guard:f} no number passes between {field.least:f} and {field.most:f} "
            f"in {field.name!r}; make the guard smaller."
        )


def _check_answers(field: Field) -> None:
    for setting in ("choices", "wanted", "doubtful"):
        if not isinstance(getattr(field, setting), tuple):
            raise FormFault(f"The {setting} of {field.name!r} are {getattr(field, setting)!r}; write a list.")
    if field.kind == "choice" and len(field.choices) < 2:
        raise FormFault(f"The choice {field.name!r} has fewer than two choices; write what may be answered.")
    if any(not choice.strip() or len(choice) > 80 or has_unseen(choice) for choice in field.choices):
        raise FormFault(f"A choice of {field.name!r} is empty or not one line of 80 characters at most.")
    if len({folded(choice) for choice in field.choices}) < len(field.choices):
        raise FormFault(f"Two choices of {field.name!r} are spelt alike; write each once.")
    for answer in (*field.wanted, *field.doubtful):
        if answer not in field.answers:
            raise FormFault(
                f"{field.name!r} speaks of the answer {answer!r}, which it does not take; "
                f"write some of {', '.join(field.answers)}."
            )
    if both := [answer for answer in field.doubtful if answer in field.wanted]:
        raise FormFault(f"{both[0]!r} is both wanted and doubtful in {field.name!r}; keep one.")


def _from_json(key: str, what: str, value: object) -> Any:
    """A JSON value as a Field holds it."""
    if key in ("least", "most", "guard"):
        if isinstance(value, int) and not isinstance(value, bool):
            value = str(value)
        if not isinstance(value, str) or not _DECIMAL.fullmatch(value):
            raise FormFault(f'The {what} is {value!r}; write the number as a text, such as "0.25".')
        return Decimal(value)
    if key in ("choices", "wanted", "doubtful"):
        return _texts(what, value)
    if key in ("not_before_test", "not_after_test", "needed"):
        if not isinstance(value, bool):
            raise FormFault(f"The {what} is {value!r}; write true or false.")
        return value
    if key == "needed_if":
        if not isinstance(value, Mapping) or value.keys() != {"field", "answers"}:
            raise FormFault(f'The {what} is {value!r}; write {{"field": "...", "answers": ["..."]}}.')
        decider = value["field"]
        if not isinstance(decider, str):
            raise FormFault(f"The {what} names {decider!r}; write the name of a field in quotes.")
        return decider, _texts(what, value["answers"])
    if not isinstance(value, str):
        raise FormFault(f"The {what} is {value!r}; write a text in quotes.")
    return value


def _as_json(key: str, value: Any) -> object:
    if isinstance(value, Decimal):
        return f"{value:f}"
    if key == "needed_if":
        return {"field": value[0], "answers": list(value[1])}
    return list(value) if isinstance(value, tuple) else value


def _texts(what: str, value: object) -> tuple[str, ...]:
    """A list of texts; one text alone stands for a list of one."""
    if isinstance(value, str):
        return (value,)
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise FormFault(f"The {what} is {value!r}; write a list of texts.")
    return tuple(value)
