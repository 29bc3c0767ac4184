"""Fold the ledger: the rows as the entries about some subjects left them at a moment. Reads only."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Self, TypeVar

from django.db import models
from django.db.models import QuerySet

from kit.models import LedgerEntry
from kit.stores.act import label
from kit.stores.knowledge import chunked

M = TypeVar("M", bound=models.Model)


@dataclass
class Folded:
    """Column values by model label and key, as the ledger keeps them (canonical JSON values)."""

    rows: dict[str, dict[Any, dict[str, Any]]] = field(default_factory=dict)

    @classmethod
    def of(cls, entries: Iterable[LedgerEntry]) -> Self:
        """The rows as these entries left them, one after another as given."""
        made = cls()
        for entry in entries:
            made.put(entry)
        return made

    def put(self, entry: LedgerEntry) -> None:
        """Let the after-images of one entry follow those put before."""
        for name, key, values in json.loads(entry.body)["rows"]:
            self.rows.setdefault(name, {}).setdefault(key, {}).update(values)

    def all(self, model: type[M]) -> list[M]:
        """Every row of the model that was told of, as unsaved objects in order of their keys."""
        found = self.rows.get(label(model), {})
        return [restored(model, key, found[key]) for key in sorted(found)]

    def one(self, model: type[M], key: Any) -> M | None:
        values = self.rows.get(label(model), {}).get(key)
        return None if values is None else restored(model, key, values)


def entries_about(subjects: Iterable[str]) -> list[LedgerEntry]:
    """All entries about any of these, each once, in order of their numbers."""
    found: dict[int, LedgerEntry] = {}
    for chunk in chunked(sorted(set(subjects)), 500):
        rows: QuerySet[LedgerEntry] = LedgerEntry.objects.filter(mentions__about__in=chunk)
        found.update((entry.number, entry) for entry in rows.distinct())
    return [found[number] for number in sorted(found)]


def restored(model: type[M], key: Any, values: dict[str, Any]) -> M:
    """An unsaved object with the columns that the ledger tells; one that is younger than the entry has its default."""
    columns = {column.attname: column for column in model._meta.concrete_fields}
    pk: Any = model._meta.pk
    read = {name: columns[name].to_python(value) for name, value in values.items() if name in columns}
    return model(**{pk.attname: key, **read})
