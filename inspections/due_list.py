"""The due list: what is overdue, never done, or falls due soon. Reads only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from inspections.judge import judge_items
from inspections.models import CheckVersion, Due
from kit.models import HOLDING, Item, Reservation, State
from kit.stores import chunked

USE_BY = "use-by"


@dataclass(frozen=True, slots=True)
class DueEntry:
    """One check of one item that is due; due_on and days_over are None for a check never done."""

    item_id: int
    tag: str
    kind: str
    check: str
    last_done: date | None
    due_on: date | None
    days_over: int | None
    state: str
    custody: str
    depot: str
    place: str
    job: str | None
    gates: bool
    conceded_from: date | None = None

    @property
    def pk(self) -> str:
        """Names the entry in a list from which people choose."""
        return f"{self.item_id} {self.check}"

    def as_dict(self) -> dict[str, Any]:
        return {
            "tag": self.tag,
            "kind": self.kind,
            "check": self.check,
            "last_done": self.last_done.isoformat() if self.last_done else None,
            "due_on": self.due_on.isoformat() if self.due_on else None,
            "days_over": self.days_over,
            "state": self.state,
            "depot": self.depot,
            "job": self.job,
        }


def due_list(
    as_of: date,
    within: int | None = None,
    depots: Collection[int] | None = None,
    items: QuerySet[Item] | None = None,
) -> list[DueEntry]:
    """What is due as of a day: overdue or never done, or, with `within`, also due up to and with as_of + within days.

    `depots` are depot ids (None: all). Withdrawn and lost items are left out, quarantined ones are in. Order: never
    done first, then due_on, tag, check. Records made for work after `as_of` are not looked at.
    """
    last = as_of - timedelta(days=1) if within is None else as_of + timedelta(days=within)
    scope = (items if items is not None else Item.objects.all()).exclude(
        state__in=[State.WITHDRAWN, State.LOST]
    )
    if depots is not None:
        scope = scope.filter(depot__in=depots)
    rows = list(_checks(scope, as_of, last)) + list(_use_by(scope, last))
    jobs = next_jobs({item.pk for item, *_ in rows}, as_of)
    entries = [
        DueEntry(
            item_id=item.pk,
            tag=item.tag,
            kind=item.kind.name,
            check=check,
            last_done=last_done,
            due_on=due_on,
            days_over=(as_of - due_on).days if due_on else None,
            state=item.state,
            custody=item.custody,
            depot=item.depot.code,
            place=item.place.name if item.place else "",
            job=jobs.get(item.pk),
            gates=gates,
            conceded_from=conceded_from,
        )
        for item, check, last_done, due_on, gates, conceded_from in rows
    ]
    return sorted(entries, key=lambda e: (e.due_on is not None, e.due_on or date.min, e.tag, e.check))


Row = tuple[Item, str, date | None, date | None, bool, date | None]


def stored_dates_hold(as_of: date) -> bool:
    """Whether the stored due dates are those of `as_of`: no record is of a later day, no rule is another by then."""
    return as_of >= timezone.localdate() and not CheckVersion.objects.awaiting(as_of).exists()


def _checks(scope: QuerySet[Item], as_of: date, last: date) -> Iterator[Row]:
    if stored_dates_hold(as_of):
        # One index range.
        dues = Due.objects.filter(
            Q(due_on__lte=last) | Q(due_on__isnull=True), item__in=scope
        ).select_related("item__kind", "item__depot", "item__place", "check_due")
        for due in dues:
            yield (
                due.item,
                due.check_due.name,
                due.last_done,
                due.due_on,
                due.check_due.gates,
                due.conceded_from,
            )
        return
    ids = list(scope.order_by("pk").values_list("pk", flat=True))
    for chunk in chunked(ids, 2000):
        items = list(Item.objects.filter(pk__in=chunk).select_related("kind", "depot", "place"))
        judged = judge_items(items, as_of)
        for item in items:
            for one in judged[item.pk]:
                if one.due.due_on is None or one.due.due_on <= last:
                    due = one.due
                    yield (
                        item,
                        one.check.name,
                        due.last_done,
                        due.due_on,
                        one.gate is not None,
                        due.conceded_from,
                    )


def _use_by(scope: QuerySet[Item], last: date) -> Iterator[Row]:
    for item in scope.filter(use_by__lte=last).select_related("kind", "depot", "place"):
        yield item, USE_BY, None, item.use_by, True, None


def next_jobs(item_ids: Collection[int], as_of: date) -> dict[int, str]:
    """The reference of the job that each item is promised to (or out on) next, by item id."""
    found: dict[int, str] = {}
    for chunk in chunked(sorted(item_ids)):
        rows = Reservation.objects.filter(item_id__in=chunk, standing__in=HOLDING, job__return_on__gte=as_of)
        for item_id, reference in rows.order_by("starts", "job__reference").values_list(
            "item_id", "job__reference"
        ):
            found.setdefault(item_id, reference)
    return found


def summary(entries: Collection[DueEntry], as_of: date) -> list[tuple[str, int]]:
    """Counts for the head of a list: by what is wrong, then by kind."""
    counts = [
        ("never done", sum(e.due_on is None for e in entries)),
        ("overdue", sum(e.due_on is not None and e.due_on < as_of for e in entries)),
        ("falls due", sum(e.due_on is not None and e.due_on >= as_of for e in entries)),
        (
            "use-by date passed",
            sum(e.check == USE_BY and e.due_on is not None and e.due_on < as_of for e in entries),
        ),
        ("in quarantine", sum(e.state == State.QUARANTINED for e in entries)),
        ("promised to a job", sum(e.job is not None for e in entries)),
        ("items", len({e.tag for e in entries})),
    ]
    by_kind = Counter(e.kind for e in entries)
    return counts + [(f"of kind {kind}", by_kind[kind]) for kind in sorted(by_kind)]
