"""The first of many on a page, and all of them for whoever asks for these by the address (?records=all)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db.models import QuerySet
from django.http import HttpRequest

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Some(Generic[T]):
    """`shown` of `number` in all."""

    shown: list[T]
    number: int

    @property
    def left_out(self) -> int:
        return self.number - len(self.shown)


def some_of(request: HttpRequest, name: str, found: Sequence[T] | QuerySet[Any], most: int) -> Some[T]:
    """The first `most` in their order, or every one if the address says name=all. Rows are counted in the database."""
    number = found.count() if isinstance(found, QuerySet) else len(found)
    every = request.GET.get(name) == "all"
    return Some(list(found if every else found[:most]) if number else [], number)
