"""The form of a check, as data: the fields that it asks for, in their order.

A form is plain JSON (limits as text, so that they stay exact), so that a depot adds one of its own
without code. There is no language of expressions: besides what is read, a form may hold ratios of two
of its numbers, and that is all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Self

from inspections.judging.form_fields import Field, FormFault

MOST_FIELDS: Final = 60


@dataclass(frozen=True, slots=True)
class Form:
    """The fields of a check in the order in which they are asked; `source` says where the form comes from.

    Raises FormFault for a form that cannot be: no fields, a name twice, a ratio or a `needed_if` that
    points at no earlier field of the right kind, a ratio that is needed of numbers that are not.
    """

    fields: tuple[Field, ...]
    source: str = ""

    def __post_init__(self) -> None:
        if not 0 < len(self.fields) <= MOST_FIELDS:
            raise FormFault(f"The form has {len(self.fields)} fields; a form has 1 to {MOST_FIELDS}.")
        earlier: dict[str, Field] = {}
        for field in self.fields:
            if field.name in earlier:
                raise FormFault(f"Two fields are named {field.name!r}; give each a name of its own.")
            if field.kind == "ratio":
                _check_ratio(field, earlier)
            if field.needed_if is not None:
                _check_needed_if(field.name, *field.needed_if, earlier)
            earlier[field.name] = field

    @property
    def judges(self) -> bool:
        """Whether an answer can fail or cast doubt; if none can, the form only records."""
        return any(field.judged for field in self.fields)

    @property
    def asked(self) -> tuple[Field, ...]:
        """The fields that a person answers: all but the ratios."""
        return tuple(field for field in self.fields if field.kind != "ratio")

    @classmethod
    def from_json(cls, data: object) -> Self:
        """A form from {"fields": [...], "source": "..."}; FormFault says what is wrong in which field."""
        if not isinstance(data, Mapping) or "fields" not in data or data.keys() - {"fields", "source"}:
            raise FormFault('A form is written {"fields": [...], "source": "..."}, and nothing else in it.')
        listed, source = data["fields"], data.get("source", "")
        if not isinstance(listed, list):
            raise FormFault(f"The fields of the form are {listed!r}; write a list of fields.")
        if not isinstance(source, str):
            raise FormFault(f"The source of the form is {source!r}; write a text in quotes.")
        return cls(tuple(Field.from_json(one, f"field {n}") for n, one in enumerate(listed, 1)), source)

    def as_json(self) -> dict[str, object]:
        """As `from_json` reads it."""
        listed: dict[str, object] = {"fields": [field.as_json() for field in self.fields]}
        return listed | ({"source": self.source} if self.source else {})


def _check_ratio(field: Field, earlier: Mapping[str, Field]) -> None:
    for name in (field.measured, field.against):
        number = earlier.get(name)
        if number is None or number.kind != "number":
            raise FormFault(
                f"{field.name!r} is a ratio of {name!r}, and no number of that name stands before it; "
                "name two numbers that do."
            )
        if field.needed and not number.always_needed:
            raise FormFault(
                f"{field.name!r} is needed, but {name!r}, from which it is worked out, is not; "
                "make both needed or neither."
            )


def _check_needed_if(name: str, decider: str, answers: tuple[str, ...], earlier: Mapping[str, Field]) -> None:
    taken = earlier[decider].answers if decider in earlier else ()
    if not taken:
        raise FormFault(
            f"{name!r} is needed by the answer to {decider!r}, and no choice or yes-no of that name "
            "stands before it; name one that does."
        )
    if not answers or not set(answers) <= set(taken):
        raise FormFault(
            f"{name!r} is needed if {decider!r} is answered {', '.join(answers) or 'nothing'}; "
            f"write some of {', '.join(taken)}."
        )
