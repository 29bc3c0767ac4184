"""Which entry of the ledger wrote what now stands in a row: the evidence behind a figure. Reads only."""

from __future__ import annotations

import json
from collections.abc import Iterable

from kit.models import Item, Job, LedgerEntry
from kit.stores.act import about, label

LOOKED_THROUGH = 60
"""So many entries about one thing that touch its row are read, newest first; what is older has no link."""


def written_by(row: Item | Job, columns: Iterable[str]) -> dict[str, int]:
    """By column of an item or a job: the number of the last entry that wrote it. One query, however long its story."""
    wanted = set(columns)
    named = json.dumps([label(row), row.pk], separators=(",", ":"))[:-1] + ","
    entries = LedgerEntry.objects.filter(mentions__about=about(row), body__contains=named)
    found: dict[str, int] = {}
    for number, body in entries.order_by("-number").values_list("number", "body")[:LOOKED_THROUGH]:
        for model, key, fields in json.loads(body)["rows"]:
            if model == label(row) and key == row.pk:
                for column in wanted & set(fields):
                    found.setdefault(column, number)
        if len(found) == len(wanted):
            break
    return found
