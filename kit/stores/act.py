"""One act of a person or the register: one transaction that changes state and appends to the ledger.

Every writer in `kit.stores` and `inspections.actions` takes an Act and changes rows only through it, so that the
ledger can be replayed into the very same state:

    with acting(Who("j.doe", "counter")) as act:
        quarantine(act, item, why="torn skirt")
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID

from django.db import connection, models, transaction
from django.utils import timezone

from kit.models import Deed, LedgerEntry, LedgerMention
from kit.ports import ports

M = TypeVar("M", bound=models.Model)

GENESIS = "0" * 64
_TURN = 7_140_213  # any number, the same everywhere: who holds this lock writes the ledger


@dataclass(frozen=True, slots=True)
class Who:
    """Who acts (a user name) and from where ("counter", "command load_register", "workbook register.xlsx")."""

    actor: str
    source: str


class NotAllowed(ValueError):
    """An action that the rules of the trade refuse. Its text is a sentence for the person who asked."""


def canonical(value: Any) -> Any:
    """A JSON value that reads the same whether it comes from Python or from either engine."""
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    return value


def image(row: models.Model, fields: Iterable[str] | None = None) -> dict[str, Any]:
    """The columns of a row as the ledger keeps them; derived columns are left out."""
    derived = getattr(row, "DERIVED", ())
    wanted = None if fields is None else set(fields)
    return {
        field.attname: canonical(field.to_python(getattr(row, field.attname)))
        for field in row._meta.concrete_fields
        if not field.primary_key
        and field.attname not in derived
        and (wanted is None or field.name in wanted or field.attname in wanted)
    }


def label(model: type[models.Model] | models.Model) -> str:
    return model._meta.label_lower


def entry_hash(entry: LedgerEntry) -> str:
    """SHA-256 over all that an entry says and the hash before it."""
    content = [
        entry.number,
        entry.deed,
        canonical(entry.happened_at),
        canonical(entry.recorded_at),
        entry.actor,
        entry.source,
        entry.corrects_id,
        entry.body,
        entry.previous_hash,
    ]
    return hashlib.sha256(json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode()).hexdigest()


def about(subject: models.Model | str) -> str:
    """How the ledger names what an entry is about: "item:TAG", "job:REFERENCE"; at most 120 characters."""
    if isinstance(subject, str):
        return subject[:120]
    for key in ("tag", "reference", "code"):
        if hasattr(subject, key):
            return f"{subject._meta.model_name}:{getattr(subject, key)}"
    return f"{subject._meta.model_name}:{subject}"


class Act:
    """Collects changed rows and ledger entries; `acting` writes the entries when the transaction ends."""

    def __init__(self, who: Who, happened_at: datetime | None = None) -> None:
        self.who = who
        self.now = timezone.now()
        self.happened_at = happened_at or self.now
        self._rows: list[list[Any]] = []
        self._entries: list[LedgerEntry] = []
        self._mentions: list[LedgerMention] = []
        self._written = 0
        last = LedgerEntry.objects.order_by("-number").values_list("number", "hash").first()
        self._number, self._hash = last or (0, GENESIS)

    @property
    def today(self) -> date:
        return timezone.localdate(self.now)

    def noon_of(self, day: date) -> datetime:
        """The moment that stands for a day of which no time of day is known; never later than this act."""
        noon = timezone.make_aware(datetime(day.year, day.month, day.day, 12))
        return min(noon, self.now)

    @contextmanager
    def at(self, moment: datetime) -> Iterator[None]:
        """What is told inside happened at that moment, whenever it is recorded."""
        before, self.happened_at = self.happened_at, moment
        try:
            yield
        finally:
            self.happened_at = before

    @property
    def head(self) -> tuple[int, str]:
        """Number and hash of the last entry so far."""
        return self._number, self._hash

    @property
    def pending(self) -> bool:
        """True while rows were changed that no entry tells of yet."""
        return bool(self._rows)

    @contextmanager
    def attempt(self) -> Iterator[None]:
        """What is done inside is done whole or, if it is refused, not at all; the act then stands as before."""
        kept = list(self._rows), list(self._entries), list(self._mentions)
        stood = self._written, self._number, self._hash
        try:
            with transaction.atomic():
                yield
        except BaseException:
            # Entries that were flushed inside are rolled back with the rest, and written again when the act ends.
            self._rows, self._entries, self._mentions = kept
            self._written, self._number, self._hash = stood
            raise

    def create(self, row: M) -> M:
        row.save(force_insert=True)
        self._rows.append([label(row), row.pk, image(row)])
        return row

    def create_many(self, rows: Sequence[M]) -> list[M]:
        """Insert many rows of one model at once; each is in the image of the next entry told."""
        if not rows:
            return []
        made = type(rows[0])._default_manager.bulk_create(rows, batch_size=500)
        self._rows.extend([label(row), row.pk, image(row)] for row in made)
        return list(made)

    def create_each(
        self,
        rows: Sequence[M],
        deed: Deed,
        subjects: Callable[[M], Iterable[models.Model | str]],
        note: Callable[[M], str] = lambda row: "",
        facts: Callable[[M], dict[str, Any]] = lambda row: {},
        happened_at: Callable[[M], datetime | None] = lambda row: None,
    ) -> list[M]:
        """Insert many rows at once, with an entry of its own for each; `happened_at` None: as the act did."""
        if not rows:
            return []
        made = list(type(rows[0])._default_manager.bulk_create(rows, batch_size=500))
        for row in made:
            self._rows.append([label(row), row.pk, image(row)])
            self.tell(deed, subjects(row), note(row), facts(row), happened_at=happened_at(row))
        return made

    def put_beside(self, row: M) -> M:
        """Insert a row that the ledger does not image: what is only begun, or bytes whose hash an entry tells."""
        _refuse_imaged(row)
        row.save(force_insert=True)
        return row

    def change_beside(self, row: models.Model, **values: Any) -> None:
        """Set columns of a row that the ledger does not image, an account: the entry told has to say so."""
        _refuse_imaged(row)
        for name, value in values.items():
            setattr(row, name, value)
        row.save(update_fields=list(values))

    def clear(self, row: models.Model) -> None:
        """Delete a row that was put beside the ledger, once what was begun is recorded or broken off."""
        _refuse_imaged(row)
        row.delete()

    def change(self, row: models.Model, **values: Any) -> bool:
        """Set columns of a row; True if any differs from before. Derived columns are saved but not imaged."""
        changed = [
            name
            for name, value in values.items()
            if canonical_of(row, name) != canonical_for(row, name, value)
        ]
        if not changed:
            return False
        for name in changed:
            setattr(row, name, values[name])
        row.save(update_fields=changed)
        told = image(row, changed)
        if told:
            self._rows.append([label(row), row.pk, told])
        return True

    def tell(
        self,
        deed: Deed,
        subjects: Iterable[models.Model | str] = (),
        note: str = "",
        facts: dict[str, Any] | None = None,
        corrects: LedgerEntry | None = None,
        happened_at: datetime | None = None,
    ) -> LedgerEntry:
        """Append one entry that covers all rows changed since the last one."""
        named = sorted({about(s) for s in subjects})
        body = {"about": named, "facts": _plain(facts or {}), "note": note, "rows": self._rows}
        entry = LedgerEntry(
            number=self._number + 1,
            deed=deed,
            happened_at=happened_at or self.happened_at,
            recorded_at=self.now,
            actor=self.who.actor,
            source=self.who.source[:200],
            corrects=corrects,
            body=json.dumps(body, ensure_ascii=False, sort_keys=True, separators=(",", ":")),
            previous_hash=self._hash,
        )
        entry.hash = entry_hash(entry)
        self._number, self._hash = entry.number, entry.hash
        self._rows = []
        self._entries.append(entry)
        self._mentions.extend(LedgerMention(entry=entry, about=name) for name in named)
        if len(self._entries) >= 1000:
            self.flush()
        return entry

    def flush(self) -> None:
        """Write the entries told so far (memory stays flat in a long act)."""
        LedgerEntry.objects.bulk_create(self._entries, batch_size=500)
        LedgerMention.objects.bulk_create(self._mentions, batch_size=500)
        self._written += len(self._entries)
        self._entries, self._mentions = [], []

    def finish(self) -> None:
        if self._rows:
            raise RuntimeError(f"rows were changed but no ledger entry tells of it: {self._rows[:3]}")
        self.flush()


def _refuse_imaged(row: models.Model) -> None:
    if type(row) in ports.ledger_models or row._meta.app_label == "kit":
        raise RuntimeError(f"{label(row)} is told of in the ledger: use create or change")


def canonical_value(value: Any) -> Any:
    return canonical(value.pk if isinstance(value, models.Model) else value)


def canonical_for(row: models.Model, name: str, value: Any) -> Any:
    """A value as it would stand in that column: 150 in a column of decimals is Decimal("150")."""
    column: Any = row._meta.get_field(name)
    return canonical(column.to_python(value.pk if isinstance(value, models.Model) else value))


def canonical_of(row: models.Model, name: str) -> Any:
    column: Any = row._meta.get_field(name)
    return canonical(column.to_python(getattr(row, column.attname)))


def _plain(facts: dict[str, Any]) -> dict[str, Any]:
    def plain(value: Any) -> Any:
        if isinstance(value, dict):
            return {str(k): plain(v) for k, v in value.items()}
        if isinstance(value, list | tuple):
            return [plain(v) for v in value]
        return canonical(value)

    return {key: plain(value) for key, value in facts.items()}


@contextmanager
def acting(who: Who, happened_at: datetime | None = None) -> Iterator[Act]:
    """One transaction in which `who` acts. Writers take turns: what is read inside is still so at the end.

    On SQLite the transaction is IMMEDIATE, which is the turn; on PostgreSQL an advisory lock is. Raises whatever the
    action raises, and then nothing is written.
    """
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_TURN])
        act = Act(who, happened_at)
        for begin in ports.at_start:
            begin(act)
        yield act
        act.finish()
