"""Rows of the sheet Inspections: records whose verdict is typed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inspections.models import Inspection
from kit.stores import chunked

Key = tuple[str, str, date, str, str, str, str]


@dataclass(slots=True)
class TypedRow:
    """One row; a record is known again by all that it says."""

    row: int
    tag: str
    check: str
    done_on: date
    verdict: str
    by: str
    certificate: str
    note: str

    @property
    def key(self) -> Key:
        return self.tag, self.check, self.done_on, self.verdict, self.by, self.certificate, self.note


def typed_records(tags: Sequence[str]) -> Counter[Key]:
    """How many records of these items say the same, by what they say."""
    had: Counter[Key] = Counter()
    for chunk in chunked(tags):
        recorded = Inspection.objects.filter(item__tag__in=chunk).values_list(
            "item__tag", "check_done__name", "done_on", "verdict", "by", "certificate", "note"
        )
        had.update(recorded.iterator(5000))
    return had
