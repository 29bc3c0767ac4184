"""Concessions as people look through them: asked for, running, past; counted by kind, check and item. Reads only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from inspections.models import Concession, ConcessionState, Due
from kit.stores import chunked

ASKED, RUNNING, PAST = "asked", "running", "past"
PARTS = (ASKED, RUNNING, PAST)


@dataclass(frozen=True, slots=True)
class ListedConcession:
    """A concession and how it stands: asked, running, or past as refused, ended, lapsed or run out.

    `times` is how often a concession was granted for the item, this one included.
    """

    concession: Concession
    stands: str
    times: int

    @property
    def pk(self) -> int:
        return self.concession.pk

    @property
    def part(self) -> str:
        return self.stands if self.stands in (ASKED, RUNNING) else PAST


def listed_concessions(
    today: date, depots: Collection[int] | None = None, item: int | None = None
) -> list[ListedConcession]:
    """All concessions at these depots (ids; None: all), or of one item, the latest asked for first."""
    rows = Concession.objects.select_related("item__kind", "item__depot", "check_due")
    if depots is not None:
        rows = rows.filter(item__depot__in=depots)
    if item is not None:
        rows = rows.filter(item=item)
    found = list(rows.order_by("-asked_at", "-id"))
    due_dates = _due_dates(found)
    granted = _times_granted({row.item_id for row in found})
    return [
        ListedConcession(
            row, stands(row, due_dates.get((row.item_id, row.check_due_id)), today), granted[row.item_id]
        )
        for row in found
    ]


def stands(row: Concession, due_on: date | None, today: date) -> str:
    """How it stands on the day; `due_on` is the due date of its check without a concession, None if it has none."""
    if row.state == ConcessionState.REFUSED:
        return "refused"
    if row.state == ConcessionState.ENDED:
        return "ended"
    if row.until < today:
        return "run out"
    if due_on != row.due_on:
        return "lapsed"
    return ASKED if row.state == ConcessionState.ASKED else RUNNING


def counts(rows: Sequence[ListedConcession]) -> list[tuple[str, int]]:
    """How many are asked for, run and are past; how many were granted of each kind and check, and at each depot."""
    granted = [row.concession for row in rows if row.concession.state in GRANTED]
    by_check = Counter(f"{one.item.kind.name}, {one.check_due.name}" for one in granted)
    by_depot = Counter(one.item.depot.code for one in granted)
    items = Counter(one.item.tag for one in granted)
    return [
        *((part, sum(row.part == part for row in rows)) for part in PARTS),
        ("granted in all", len(granted)),
        ("items granted more than one", sum(n > 1 for n in items.values())),
        *((f"granted for {name}", by_check[name]) for name in sorted(by_check)),
        *((f"granted at {code}", by_depot[code]) for code in sorted(by_depot)),
    ]


GRANTED = (ConcessionState.GRANTED, ConcessionState.ENDED)


def _due_dates(rows: Sequence[Concession]) -> dict[tuple[int, int], date | None]:
    """The due date that each check of these items would have without a concession, as kept now."""
    found: dict[tuple[int, int], date | None] = {}
    for chunk in chunked(sorted({row.item_id for row in rows})):
        for due in Due.objects.filter(item_id__in=chunk, status="dated", note=""):
            found[due.item_id, due.check_due_id] = due.conceded_from or due.due_on
    return found


def _times_granted(item_ids: Collection[int]) -> Counter[int]:
    found: Counter[int] = Counter()
    for chunk in chunked(sorted(item_ids)):
        found.update(
            Concession.objects.filter(item_id__in=chunk, state__in=GRANTED).values_list("item_id", flat=True)
        )
    return found
