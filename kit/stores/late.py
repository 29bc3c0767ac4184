"""Late entries: what happened on an earlier day and is entered only now keeps its place in the item's story."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from django.utils import timezone

from kit.models import Deed, Item, LedgerEntry
from kit.stores.act import Act, NotAllowed, about

# Not when it was received: that may be the day on which a register was loaded that had been kept on paper.
MOVES = frozenset(
    {
        Deed.STOCK,
        Deed.ISSUED,
        Deed.TAKEN_BACK,
        Deed.UNDONE,
        Deed.QUARANTINED,
        Deed.RELEASED,
        Deed.WITHDRAWN,
        Deed.LOST,
        Deed.FOUND_AGAIN,
        Deed.SENT,
        Deed.ARRIVED,
        Deed.NOT_ARRIVED,
    }
)
"""What moves an item or its state: two of these cannot have happened in another order than their days say."""
EVENTS = MOVES | {Deed.INSPECTED, Deed.REPAIRED}


def happened_on(
    act: Act, item: Item, day: date | None, what: str, events: Collection[Deed] = EVENTS
) -> datetime:
    """When something that is entered now happened, if it was on `day` (None: now); `what` says it ("gone out").

    Of a past day the moment is its noon, or later if something is known of the item by then on that day. Raises
    NotAllowed for a day to come, and for one before the last of `events` that is known of the item.
    """
    if day is None or day == act.today:
        return act.happened_at
    if day > act.today:
        raise NotAllowed(f"{day} is in the future: give the day on which it happened.")
    rows = LedgerEntry.objects.filter(mentions__about=about(item), deed__in=events)
    last = rows.order_by("-happened_at", "-number").first()
    if last is None:
        return act.noon_of(day)
    known = timezone.localdate(last.happened_at)
    if known > day:
        raise NotAllowed(
            f'{item.tag} cannot have {what} on {day}: the ledger has "{Deed(last.deed).label.lower()}" of it on '
            f"{known} (entry {last.number}). Give that day or a later one."
        )
    return max(act.noon_of(day), last.happened_at)
