"""When gating checks would be due next if they were passed on some day to come. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from inspections.evidence import evidence_of
from inspections.judge import checks_by_kind
from inspections.judging.records import Record
from inspections.judging.regimes import due_under
from kit.models import Item

_AFTER_ALL = 2**62  # later than any order of recording there is


def due_if_passed(items: Sequence[Item], days: Iterable[date]) -> dict[int, dict[str, dict[date, date]]]:
    """By item id and check: day of a pass -> when the check would then be due; by the rules known now.

    Days on which nothing would be asked of the item, or on which a pass would not mend it, are left out.
    """
    regimes = checks_by_kind(item.kind_id for item in items)
    evidence = evidence_of([item.pk for item in items])
    listed = sorted(days)
    found: dict[int, dict[str, dict[date, date]]] = {}
    for item in items:
        of_item: dict[str, dict[date, date]] = {}
        for regime in regimes.get(item.kind_id, ()):
            key = (item.pk, regime.check.pk)
            versions = regime.versions_for(item)
            records = evidence.records.get(key, [])
            by_day: dict[date, date] = {}
            for day in listed:
                passed = [*records, Record(day, "pass", _AFTER_ALL)]
                due = due_under(
                    versions, passed, evidence.calls_for(*key), evidence.extensions.get(key, ()), day
                )
                if due is not None and due.due_on is not None and due.in_date_on(day):
                    by_day[day] = due.due_on
            if by_day:
                of_item[regime.check.name] = by_day
        found[item.pk] = of_item
    return found
