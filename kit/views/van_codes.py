"""What the page beside the van needs to know a piece by its code without the store: each name that leads to a piece of
the list, with what it leads to, worked out here by the rule of `kit.planning.named`.

What bears the same name but is not on the list goes along, so that the phone takes no other piece for one of the list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.db.models.functions import Lower, Right

from kit.models import Item
from kit.planning.code_grammar import grammar
from kit.planning.named import MOST_CHOICES, named
from kit.planning.scanned_codes import COMPANY_PREFIX, GROUP_SEPARATOR, ScannedCode, read_code
from kit.views.found import OUT_OF_USE
from kit.workbooks.cell_text import UNSEEN, tidy

# How many figures one reading of an asset number may have more than another.
_LONGER = COMPANY_PREFIX.stop - 1 - COMPANY_PREFIX.start


@dataclass(frozen=True, slots=True)
class _Row:
    tag: str
    serial: str
    batch: str
    used: bool
    in_sight: bool


class _OfRows:
    """Names of a few pieces in memory."""

    def __init__(self, rows: Iterable[_Row]) -> None:
        self.exact: dict[str, _Row] = {}
        self.by_tag: dict[str, list[_Row]] = defaultdict(list)
        self.by_serial: dict[str, list[_Row]] = defaultdict(list)
        for row in sorted(rows, key=lambda row: row.tag):
            self.exact[row.tag] = row
            self.by_tag[row.tag.lower()].append(row)
            if row.serial:
                self.by_serial[row.serial.lower()].append(row)

    def spelt(self, text: str) -> Sequence[_Row]:
        return [self.exact[text]] if text in self.exact else self.spelt_anyhow(text)

    def spelt_anyhow(self, text: str) -> Sequence[_Row]:
        return self.by_tag.get(text.lower(), [])[:MOST_CHOICES]

    def tagged(self, tags: Iterable[str]) -> Sequence[_Row]:
        return sorted({self.exact[tag] for tag in tags if tag in self.exact}, key=lambda row: row.tag)

    def with_serial(self, serial: str) -> Sequence[_Row]:
        return self.by_serial.get(serial.lower(), [])

    def in_use(self, piece: _Row) -> bool:
        return piece.used


class _NoTagSpelt(_OfRows):
    """The same for a text that is no tag in this very spelling."""

    def spelt(self, text: str) -> Sequence[_Row]:
        return self.spelt_anyhow(text)


def codes_of(held: Collection[Item], own_depots: Collection[int]) -> dict[str, Any]:
    """Ready for JSON, for `van_codes.js`; each name leads to the tags that the counter would offer for it.

    exact, folded: the whole text as it stands, or in small letters. own: what may follow a company's prefix in an asset
    number. serials: a GS1 serial in small letters, also with GS and its batch where that makes a difference.
    """
    rows = _rows(held, own_depots)
    names, anyhow = _OfRows(rows), _NoTagSpelt(rows)
    texts = {text for row in rows for text in (row.tag, row.serial) if text}
    folded = {text.lower(): _tags(named(read_code(text.lower()), text.lower(), anyhow)) for text in texts}
    exact = {text: _tags(named(read_code(text), text, names)) for text in texts}
    serials = {}
    for serial, alike in names.by_serial.items():
        for batch in ("", *(row.batch for row in alike)):
            key = f"{serial}{GROUP_SEPARATOR}{batch.lower()}" if batch else serial
            serials[key] = _tags(named(ScannedCode("", serial=serial, batch=batch), "", names))
    return {
        "grammar": grammar(),
        "unseen": UNSEEN,
        "exact": {text: tags for text, tags in exact.items() if tags != folded[text.lower()]},
        "folded": folded,
        "own": {tag: _tags([row]) for tag, row in names.exact.items()},
        "serials": {
            key: tags
            for key, tags in serials.items()
            if GROUP_SEPARATOR not in key or tags != serials[key.partition(GROUP_SEPARATOR)[0]]
        },
    }


def _tags(rows: Iterable[_Row]) -> list[str]:
    """Those in sight, as the counter names no others."""
    return [row.tag for row in rows if row.in_sight]


def _rows(held: Collection[Item], own_depots: Collection[int]) -> list[_Row]:
    """The pieces of the list and all that one of their names may lead to as well."""
    written = {tidy(text) for item in held for text in (item.tag, item.serial) if text}
    read = [read_code(text) for text in written]
    small = {text.lower() for text in written} | {code.serial.lower() for code in read if code.serial}
    tags = {item.tag for item in held} | {tag for code in read for tag in code.own_numbers}
    tags |= {tag[n:] for tag in list(tags) for n in range(1, _LONGER + 1) if tag[:n].isdecimal() and tag[n:]}
    any_name = Q(pk__in=[item.pk for item in held]) | Q(small_tag__in=small) | Q(small_serial__in=small)
    known = Item.objects.annotate(small_tag=Lower("tag"), small_serial=Lower("serial"))
    for length in {len(item.tag) for item in held}:
        known = known.annotate(**{f"last_{length}": Right("tag", length)})
        any_name |= Q(**{f"last_{length}__in": {item.tag for item in held if len(item.tag) == length}})
    found = known.filter(any_name | Q(tag__in=tags))
    columns = found.values_list("tag", "serial", "batch", "state", "depot_id", "transit_to_id")
    return [
        _Row(tag, serial, batch, state not in OUT_OF_USE, depot in own_depots or transit in own_depots)
        for tag, serial, batch, state, depot, transit in columns
    ]
