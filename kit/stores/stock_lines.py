"""How a line of a stock-take stands now: even, explained by what was done meanwhile, or for a person to settle."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from kit.models import (
    Custody,
    Deed,
    Item,
    LedgerEntry,
    Reservation,
    Settled,
    Standing,
    State,
    StockTake,
    StockTakeLine,
)
from kit.stores.knowledge import chunked

Sort = Literal["even", "explained", "missing", "elsewhere", "unknown", "uncounted", "settled"]
OPEN_SORTS: tuple[Sort, ...] = ("missing", "elsewhere", "unknown", "uncounted")
# What tells of neither place nor state: a piece is not explained by it.
_NO_MOVE = (Deed.STOCK_TAKE, Deed.PRINTED, Deed.ATTACHED, Deed.INSPECTED, Deed.RESERVED)


@dataclass(frozen=True)
class LineNow:
    """`why` is a sentence; `ways` are what a person may decide, the likeliest first."""

    line: StockTakeLine
    sort: Sort
    why: str = ""
    ways: tuple[Settled, ...] = ()

    @property
    def open(self) -> bool:
        return self.sort in OPEN_SORTS


def lies_there(item: Item, take: StockTake) -> bool:
    """Whether the book has the item in the place (or depot) that is counted, now."""
    return (
        item.depot_id == take.depot_id
        and item.custody == Custody.STORE
        and item.state in (State.AVAILABLE, State.QUARANTINED)
        and (take.place_id is None or item.place_id == take.place_id)
    )


def lines_now(take: StockTake, only: Iterable[int] | None = None) -> list[LineNow]:
    """All lines of the stock-take (or those of these keys) as they stand now, by tag."""
    rows = take.lines.select_related("item__kind", "item__depot", "item__place", "item__transit_to")
    if only is not None:
        rows = rows.filter(pk__in=list(only))
    lines = list(rows.order_by("item__tag", "text"))
    since = _last_moves(take, [line.item.tag for line in lines if line.item and not _is_even(line, take)])
    return [_stands(line, take, since) for line in lines]


def _is_even(line: StockTakeLine, take: StockTake) -> bool:
    return line.expected and line.seen_at is not None


def _stands(line: StockTakeLine, take: StockTake, since: dict[str, LedgerEntry]) -> LineNow:
    if line.settled:
        return LineNow(line, "settled", line.why)
    item = line.item
    if item is None:
        why = line.why or f"No item bears the code {line.text}."
        return LineNow(line, "unknown", why, (Settled.NOTED,))
    moved = since.get(item.tag)
    there = lies_there(item, take)
    if line.seen_at is None:
        if not there:
            return LineNow(line, "explained", _meanwhile(item, moved))
        why = f"The book has it here, and nobody has seen it. {_meanwhile(item, moved) if moved else ''}"
        return LineNow(
            line, "missing", why.strip(), (Settled.FOUND, Settled.LOST, Settled.MOVED, Settled.NOTED)
        )
    if item.counted and line.counted_quantity is None and (line.expected or there):
        held = item.quantity
        return LineNow(line, "uncounted", f"The book holds {held}: count it.", (Settled.COUNTED,))
    if line.expected:
        return LineNow(line, "even")
    if there:
        return LineNow(line, "explained", _meanwhile(item, moved))
    return LineNow(line, "elsewhere", _where_by_the_book(item), _ways_elsewhere(item, take))


def _ways_elsewhere(item: Item, take: StockTake) -> tuple[Settled, ...]:
    if item.custody == Custody.STORE and item.depot_id == take.depot_id:
        if item.state == State.LOST:
            return (Settled.FOUND,)
        if item.state != State.WITHDRAWN:
            return (Settled.MOVED, Settled.PUT_BACK)
    return (Settled.PUT_BACK, Settled.NOTED)


def _where_by_the_book(item: Item) -> str:
    """Where the book has a piece that lies somewhere else, and which act puts the book right."""
    if item.custody == Custody.ON_SITE:
        out = Reservation.objects.filter(item=item, standing=Standing.ISSUED).select_related("job").first()
        return f"The book has it out on {out.job if out else 'a job'}: take it back there."
    if item.custody == Custody.IN_TRANSIT:
        return f"The book has it on its way to {item.transit_to}: sign for it on its consignment."
    if item.state == State.WITHDRAWN:
        return "It is withdrawn: put it with what is to be disposed of."
    if item.state == State.LOST:
        return f"It was noted as lost: {item.state_why}"
    place = f"{item.place} at {item.depot}" if item.place else f"{item.depot}, no place recorded"
    return f"It belongs to {place}."


def _meanwhile(item: Item, moved: LedgerEntry | None) -> str:
    if moved is None:
        return "It has moved since the count began."
    what = str(Deed(moved.deed).label).lower()
    at = moved.recorded_at
    return f"Since the count began: {what} by {moved.actor} (entry {moved.number}, {at:%Y-%m-%d})."


def _last_moves(take: StockTake, tags: list[str]) -> dict[str, LedgerEntry]:
    """The last entry since the count began that moved each piece."""
    found: dict[str, LedgerEntry] = {}
    names = [f"item:{tag}"[:120] for tag in tags]
    for chunk in chunked(names, 500):
        rows = (
            LedgerEntry.objects.filter(mentions__about__in=chunk, recorded_at__gt=take.started_at)
            .exclude(deed__in=_NO_MOVE)
            .order_by("number")
            .prefetch_related("mentions")
        )
        for entry in rows:
            for mention in entry.mentions.all():
                found[mention.about.removeprefix("item:")] = entry
    return found
