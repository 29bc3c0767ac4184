"""Who set an item aside, by the ledger: whatever became of it since, they do not release it (rule 7 of the trade)."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from kit.models import Deed, Item, LedgerEntry, State
from kit.stores.act import about, label


@dataclass(frozen=True, slots=True)
class SetAside:
    """Everybody who set the item aside since it was released last, and when the first of them did."""

    people: frozenset[str]
    since: datetime | None


def set_aside(item: Item) -> SetAside:
    """By the ledger, not by the item's own columns: those name the last who moved it, after a loss the finder."""
    entries = LedgerEntry.objects.filter(
        mentions__about=about(item),
        deed__in=[Deed.RECEIVED, Deed.QUARANTINED, Deed.FOUND_AGAIN, Deed.RELEASED],
    )
    people: set[str] = set()
    since: datetime | None = None
    for entry in entries.order_by("number"):
        if entry.deed == Deed.RELEASED:
            people, since = set(), None
        elif entry.deed != Deed.RECEIVED or _received_set_aside(entry):
            people.add(entry.actor)
            since = since or entry.recorded_at
    return SetAside(frozenset(people), since)


def _received_set_aside(entry: LedgerEntry) -> bool:
    return any(
        name == label(Item) and values.get("state") == State.QUARANTINED
        for name, _, values in json.loads(entry.body)["rows"]
    )
