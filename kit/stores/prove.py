"""Prove the ledger: the chain holds, the mentions match, the state equals the ledger replayed, files their hashes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User
from django.db import connection, models, transaction

from kit.models import (
    Arrangement,
    ArrangementLine,
    Deed,
    Depot,
    DepotLink,
    Item,
    Job,
    Kind,
    LabelPaper,
    LedgerEntry,
    LedgerMention,
    LineSubstitute,
    MakerLabel,
    Membership,
    PipeSize,
    Place,
    Reservation,
    StockTake,
    StockTakeLine,
    Transfer,
    TransferLine,
    VanEntry,
)
from kit.ports import ports
from kit.stores.act import GENESIS, canonical, entry_hash, image, label

STORE_MODELS: tuple[type[models.Model], ...] = (
    Depot,
    DepotLink,
    Place,
    Membership,
    Kind,
    MakerLabel,
    Item,
    Arrangement,
    ArrangementLine,
    LineSubstitute,
    PipeSize,
    LabelPaper,
    Job,
    Reservation,
    Transfer,
    TransferLine,
    StockTake,
    StockTakeLine,
    VanEntry,
)


@dataclass(frozen=True, slots=True)
class Proof:
    """What proving found: `entries` read, and the first fault (None if there is none)."""

    entries: int
    fault: str | None = None
    at: int | None = None


def _at_first(model: type[models.Model], column: str) -> Any:
    """What a column holds in rows that were there before it: its default, as the ledger would write it."""
    field: Any = model._meta.get_field(column)
    return canonical(field.to_python(field.get_default()))


def prove_ledger() -> Proof:
    """Read the whole ledger and compare it with itself and with the state. Stops at the first fault.

    Proves the database as it stands at one moment: work that goes on meanwhile is no fault, and does not wait.
    """
    if connection.in_atomic_block:
        return _prove()
    if connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            return _prove()
    # atomic() would take the writers' turn (IMMEDIATE), and the counter would wait until the proof is done.
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            return _prove()
        finally:
            cursor.execute("ROLLBACK")


def _prove() -> Proof:
    state: dict[tuple[str, Any], dict[str, Any]] = {}
    count = 0
    previous = GENESIS
    accounts: dict[str, bool] = {}
    for entry, mentioned in _entries_with_mentions():
        count += 1
        fault = _fault_of(entry, count, previous, mentioned)
        if fault:
            return Proof(count, f"entry {entry.number}: {fault}", entry.number)
        previous = entry.hash
        body = json.loads(entry.body)
        for name, key, values in body["rows"]:
            state.setdefault((name, key), {}).update(values)
        accounts.update(_account_told(entry, body))
    further = (prove() for prove in ports.proofs)
    return Proof(
        count,
        _difference(state) or _wrong_account(accounts) or next((fault for fault in further if fault), None),
    )


def _entries_with_mentions() -> Iterator[tuple[LedgerEntry, list[str]]]:
    mentions = (
        LedgerMention.objects.order_by("entry_id", "about").values_list("entry_id", "about").iterator(2000)
    )
    ahead = next(mentions, None)
    for entry in LedgerEntry.objects.order_by("number").iterator(2000):
        named = []
        while ahead is not None and ahead[0] <= entry.number:
            if ahead[0] == entry.number:
                named.append(ahead[1])
            ahead = next(mentions, None)
        yield entry, named


def _fault_of(entry: LedgerEntry, expected: int, previous: str, mentioned: list[str]) -> str | None:
    if entry.number != expected:
        return f"the number should be {expected}: an entry is missing or was put in"
    if entry.previous_hash != previous:
        return "it does not follow on from the entry before it"
    if entry_hash(entry) != entry.hash:
        return "its content does not match its hash: it was altered after it was written"
    try:
        body = json.loads(entry.body)
    except ValueError:
        return "its body cannot be read"
    if sorted(body["about"]) != sorted(mentioned):
        return "the index of what it is about does not match it"
    return None


def _account_told(entry: LedgerEntry, body: dict[str, Any]) -> dict[str, bool]:
    """By name, whether an account is open; accounts have no image, since a hash of a password is nobody's business."""
    if entry.deed != Deed.PERSON or "open" not in body["facts"]:
        return {}
    return {
        about.removeprefix("user:"): body["facts"]["open"]
        for about in body["about"]
        if about.startswith("user:")
    }


def _wrong_account(told: dict[str, bool]) -> str | None:
    """The first account that is open or closed otherwise than the ledger told last, as a sentence."""
    now = dict(User.objects.values_list("username", "is_active"))
    words = {True: "open", False: "closed", None: "gone"}
    for name, is_open in sorted(told.items()):
        if now.get(name) != is_open:
            found, last = words[now.get(name)], words[is_open]
            return f"the account of {name} is {found} but the ledger last told that it is {last}"
    return None


def _difference(state: dict[tuple[str, Any], dict[str, Any]]) -> str | None:
    """The first row whose columns differ from the ledger replayed, as a sentence."""
    for model in (*STORE_MODELS, *ports.ledger_models):
        name = label(model)
        for row in model._default_manager.order_by("pk").iterator(2000):
            told = state.pop((name, row.pk), None)
            if told is None:
                return f"{name} {row.pk} ({row}) stands in the register but no entry tells of it"
            now = image(row)
            for column, value in now.items():
                if column not in told and value == _at_first(model, column):
                    continue  # the column is younger than the entry that tells of the row
                if told.get(column) != value:
                    return (
                        f"{name} {row.pk} ({row}): {column} is {value!r} but the ledger, replayed, "
                        f"gives {told.get(column)!r}"
                    )
    if state:
        name, key = next(iter(state))
        return f"{name} {key} is told of in the ledger but is not in the register"
    return None
