"""How much work falls due week by week: checks and use-by dates ahead, and what waits already. Reads only."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q, QuerySet

from inspections.due_list import USE_BY, due_list, stored_dates_hold
from inspections.models import Due
from kit.forms.week import week_of
from kit.models import HOLDING, Item, Reservation

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
    by_day = _stored if stored_dates_hold(today) else _judged
    waiting, waiting_promised = 0, 0
    spans = [
        (max(today, start), start + timedelta(days=6))
        for start in (monday + timedelta(weeks=number) for number in range(weeks))
    ]
    counts = [[0, 0] for _span in spans]
    for day, number, promised in by_day(today, last, depots, items, check):
        if day is None or day < today:
            waiting, waiting_promised = waiting + number, waiting_promised + promised
        else:
            week = counts[(day - monday).days // 7]
            week[0] += number
            week[1] += promised
    return DueLoad(
        waiting,
        waiting_promised,
        [Load(first, end, *count) for (first, end), count in zip(spans, counts, strict=True)],
    )


Counted = tuple[date | None, int, int]


def _stored(
    today: date, last: date, depots: Collection[int], items: QuerySet[Item] | None, check: str
) -> Iterator[Counted]:
    """Each day with how many fall due on it and how many of these are promised, counted by the database: the same as
    `_judged`, for 40,000 pieces in 0.2 s where the due list takes 8 s.
    """
    scope = (items if items is not None else Item.objects.all()).in_use().filter(depot__in=depots)
    if check != USE_BY:
        dues = Due.objects.filter(Q(due_on__lte=last) | Q(due_on__isnull=True), item__in=scope)
        if check:
            dues = dues.filter(check_due__name=check)
        yield from _counted(dues, "due_on", "item_id", today)
    if check in ("", USE_BY):
        yield from _counted(scope.filter(use_by__lte=last), "use_by", "pk", today)


def _counted(rows: QuerySet[Any], column: str, item: str, today: date) -> Iterator[Counted]:
    held = Reservation.objects.filter(item_id=OuterRef(item), standing__in=HOLDING, job__return_on__gte=today)
    counts = rows.order_by().values(column).annotate(n=Count("pk"), p=Count("pk", filter=Exists(held)))
    yield from counts.values_list(column, "n", "p")


def _judged(
    today: date, last: date, depots: Collection[int], items: QuerySet[Item] | None, check: str
) -> Iterator[Counted]:
    """The same from the due list itself, while a rule has come into force that no act has brought in yet."""
    for entry in due_list(today, (last - today).days, depots, items):
        if not check or entry.check == check:
            yield entry.due_on, 1, int(entry.job is not None)
