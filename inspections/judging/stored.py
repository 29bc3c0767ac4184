"""Values of judging as plain JSON and back, nothing lost: so that what was judged can be judged anew later."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields
from datetime import date
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from types import NoneType, UnionType
from typing import Any, Literal, Self, Union, cast, get_args, get_origin, get_type_hints

from inspections.judging.decision import JudgingFault

_FROM_TEXT: Mapping[Any, Any] = {Decimal: Decimal, Fraction: Fraction, date: date.fromisoformat}


class Stored:
    """A dataclass that can be kept in a JSON column. Decimals, fractions and dates become text."""

    __slots__ = ()

    def to_json(self) -> dict[str, Any]:
        """Each field by its name; `from_json` of it gives an equal value."""
        return {field.name: _plain(getattr(self, field.name)) for field in fields(cast(Any, self))}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Self:
        """The value that `to_json` gave. A field left out takes its default.

        Raises JudgingFault, naming the field, for one that lacks, one not known, or a wrong value.
        """
        if not isinstance(stored, Mapping):
            raise JudgingFault(f"A stored {cls.__name__} is {stored!r}, which is no record of fields.")
        known = {field.name: field for field in fields(cast(Any, cls))}
        hints = get_type_hints(cls)
        for name in stored:
            if name not in known:
                raise JudgingFault(f"A stored {cls.__name__} has {name!r}, which is not known.", name)
        values = {}
        for name, field in known.items():
            if name in stored:
                values[name] = _typed(hints[name], stored[name], name)
            elif field.default is MISSING and field.default_factory is MISSING:
                raise JudgingFault(f"A stored {cls.__name__} lacks {name!r}.", name)
        return cls(**values)


def _plain(value: Any) -> Any:
    if isinstance(value, Stored):
        return value.to_json()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, (Decimal, Fraction)):
        return str(value)
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Mapping):
        return {key: _plain(part) for key, part in value.items()}
    return value


def _typed(hint: Any, value: Any, name: str) -> Any:
    """`value` of JSON as the type `hint`, one of those that the values of judging use."""
    origin, parts = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        if value is None:
            return None
        (hint,) = (part for part in parts if part is not NoneType)
        return _typed(hint, value, name)
    if origin is Literal and value in parts:
        return value
    if origin is tuple and isinstance(value, list):
        return tuple(_typed(parts[0], part, name) for part in value)
    if isinstance(origin, type) and issubclass(origin, Mapping) and isinstance(value, Mapping):
        return {_typed(parts[0], key, name): _typed(parts[1], part, name) for key, part in value.items()}
    if hint in _FROM_TEXT and isinstance(value, str):
        try:
            return _FROM_TEXT[hint](value)
        except (ValueError, InvalidOperation, ZeroDivisionError):
            pass
    elif isinstance(hint, type) and issubclass(hint, Stored):
        return hint.from_json(value)
    elif hint in (str, bool) and isinstance(value, hint):
        return value
    raise JudgingFault(f"The stored {name!r} is {value!r}, which cannot be read.", name)
