"""What happened of late to the pieces of a batch, or to a kind itself, told from the ledger."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet, Value
from django.db.models.functions import Concat

from kit.models import Item, LedgerEntry, LedgerMention
from kit.views.story import told

MOST = 12


def story_of_pieces(items: QuerySet[Item]) -> list[dict[str, Any]]:
    """The newest entries about any of these pieces."""
    named = items.order_by().annotate(named=Concat(Value("item:"), "tag")).values("named")
    return _newest(named)


def story_of_kind(name: str) -> list[dict[str, Any]]:
    """The newest entries about the kind itself: its settings, its checks."""
    return _newest([f"kind:{name}"])


def _newest(about: Iterable[Any]) -> list[dict[str, Any]]:
    numbers = LedgerMention.objects.filter(about__in=about).values("entry")
    entries = LedgerEntry.objects.filter(number__in=numbers).prefetch_related("corrections")
    return told(entries.order_by("-number")[:MOST])
