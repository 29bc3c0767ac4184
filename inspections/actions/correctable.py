"""Which record may be corrected, and the ledger's entry that tells of a record."""

from __future__ import annotations

import json

from inspections.models import Check, Inspection
from kit.models import Item, LedgerEntry
from kit.stores import NotAllowed
from kit.stores.act import about, label


def refuse_correction(old: Inspection, item: Item, check: Check) -> None:
    """Raise NotAllowed if `old` cannot be corrected by a record of this item and check."""
    if old.item_id != item.pk or old.check_done_id != check.pk:
        raise NotAllowed(
            f"That record is of {old.check_done.name} of {old.item.tag}: a correction stays with the same item and "
            "check. Strike it out, and record anew what was done."
        )
    if old.struck:
        raise NotAllowed("That only says that a record does not count: record anew what was done.")
    newer = Inspection.objects.filter(corrects=old).first()
    if newer is not None:
        how = "struck out" if newer.struck else "corrected"
        raise NotAllowed(
            f"That record was {how} already, by {newer.recorded_by}"
            + (": record anew what was done." if newer.struck else ": correct that correction.")
        )


def entry_of(record: Inspection) -> LedgerEntry | None:
    """The entry that told of the record; None if it came with others in an entry that cannot be told apart."""
    name = label(Inspection)
    entries = LedgerEntry.objects.filter(mentions__about=about(record.item), recorded_at=record.recorded_at)
    for entry in entries.order_by("number"):
        if any(row[:2] == [name, record.pk] for row in json.loads(entry.body)["rows"]):
            return entry
    return None
