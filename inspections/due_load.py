"""How much work falls due week by week: checks and use-by dates ahead, and what waits already. Reads only."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from inspections.due_list import DueEntry, due_list
from kit.forms.week import week_of
from kit.models import Item

WEEKS_AHEAD = 13
"""A quarter; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Load:
    """What falls due from `first` to `last`, both included; of which on pieces that are promised to a job."""

    first: date
    last: date
    number: int
    promised: int

    @property
    def week(self) -> str:
        return week_of(self.first)


@dataclass(frozen=True, slots=True)
class DueLoad:
    """`waiting` is what is overdue or was never done; `weeks` what falls due from today on, the first from today."""

    waiting: int
    waiting_promised: int
    weeks: list[Load]

    @property
    def ahead(self) -> int:
        return sum(week.number for week in self.weeks)

    @property
    def heaviest(self) -> Load:
        return max(self.weeks, key=lambda week: week.number)


def due_load(
    today: date,
    depots: Collection[int],
    items: QuerySet[Item] | None = None,
    check: str = "",
    weeks: int = WEEKS_AHEAD,
) -> DueLoad:
    """The due list counted by weeks, Monday to Sunday. A check that will be due several times in these weeks counts
    once, on the day on which it is due next: when it falls due after that depends on the day it is done.
    """
    monday = today - timedelta(days=today.weekday())
    last = monday + timedelta(days=7 * weeks - 1)
    entries = due_list(today, (last - today).days, depots, items)
    if check:
        entries = [entry for entry in entries if entry.check == check]
    waiting = [entry for entry in entries if entry.due_on is None or entry.due_on < today]
    spans = [
        (max(today, start), start + timedelta(days=6))
        for start in (monday + timedelta(weeks=number) for number in range(weeks))
    ]
    by_week: list[list[DueEntry]] = [[] for _span in spans]
    for entry in entries:
        if entry.due_on is not None and entry.due_on >= today:
            by_week[(entry.due_on - monday).days // 7].append(entry)
    return DueLoad(
        len(waiting),
        _promised(waiting),
        [
            Load(first, end, len(listed), _promised(listed))
            for (first, end), listed in zip(spans, by_week, strict=True)
        ],
    )


def _promised(entries: Collection[DueEntry]) -> int:
    return sum(entry.job is not None for entry in entries)
