"""Count a place or a depot by scanner: begin, see, settle what does not come out even one by one, close."""

from __future__ import annotations

from kit.models import (
    Custody,
    Deed,
    Depot,
    Item,
    Place,
    Settled,
    State,
    StockTake,
    StockTakeLine,
)
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh, renew
from kit.stores.quarantine import find_again, lose
from kit.stores.receive import count_stock, record_details
from kit.stores.stock_lines import lines_now


def begin_stock_take(act: Act, depot: Depot, place: Place | None = None, note: str = "") -> StockTake:
    """Freeze what the book has there now. Raises NotAllowed if it is being counted already."""
    if place is not None and place.depot_id != depot.pk:
        raise NotAllowed(f"{place} is no place of {depot}.")
    running = StockTake.objects.filter(depot=depot, place=place, closed_at__isnull=True).first()
    if running is not None:
        raise NotAllowed(f"{running.where} is being counted already: go on with {running}.")
    last = StockTake.objects.order_by("-number").values_list("number", flat=True).first() or 0
    take = act.create(
        StockTake(
            number=last + 1,
            depot=depot,
            place=place,
            started_at=act.now,
            started_by=act.who.actor,
            note=note.strip()[:500],
        )
    )
    items = Item.objects.filter(
        depot=depot, custody=Custody.STORE, state__in=[State.AVAILABLE, State.QUARANTINED]
    ).exclude(counted=True, quantity=0)
    if place is not None:
        items = items.filter(place=place)
    lines = act.create_many(
        [
            StockTakeLine(
                stock_take=take,
                item=item,
                expected=True,
                quantity_at_start=item.quantity if item.counted else None,
            )
            for item in items.order_by("tag")
        ]
    )
    act.tell(
        Deed.STOCK_TAKE,
        [take, depot],
        note=f"count of {take.where} begun: {len(lines)} pieces and lots should be there",
        facts={"expected": len(lines)},
    )
    return take


def see(
    act: Act, take: StockTake, item: Item | None, text: str = "", why: str = ""
) -> tuple[StockTakeLine, bool]:
    """Note that a piece (or a code that no item bears) was scanned there; False if it had been seen already.

    What is expected nowhere near is noted as well, for a person to settle.
    """
    _renew(take)
    line = (
        take.lines.filter(item=item).first()
        if item is not None
        else take.lines.filter(item__isnull=True, text=text[:200]).first()
    )
    if line is not None and line.seen_at is not None:
        return line, False
    if line is not None:
        act.change(line, seen_at=act.now, seen_by=act.who.actor)
    else:
        line = act.create(
            StockTakeLine(
                stock_take=take,
                item=item,
                text="" if item else text[:200],
                seen_at=act.now,
                seen_by=act.who.actor,
                why="" if item else why[:500],
            )
        )
    subjects: list[StockTake | Item] = [take, item] if item is not None else [take]
    what = item.tag if item is not None else f"the unknown code {text[:200]}"
    act.tell(Deed.STOCK_TAKE, subjects, note=f"{what} seen in {take.where}")
    return line, True


def settle(
    act: Act,
    line: StockTakeLine,
    how: Settled | str,
    why: str = "",
    to: Place | None = None,
    quantity: int | None = None,
) -> StockTakeLine:
    """Decide one line by the act that puts the book right; a reason is needed. Raises NotAllowed with why not."""
    how, why = Settled(how), why.strip()
    renew(line, "stock_take__depot", "stock_take__place")
    take = _renew(line.stock_take)
    [now] = lines_now(take, [line.pk])
    if line.settled:
        raise NotAllowed(f"{line} is settled already, by {line.settled_by}: {line.why}")
    if how not in now.ways:
        raise NotAllowed(f"{line} stands otherwise by now: {now.why or 'it has come out even'} Look again.")
    item = fresh(line.item) if line.item is not None else None
    if item is not None and how == Settled.COUNTED:
        _count(act, line, item, quantity, why)
        why = why or "as the book has it"
    elif not why:
        raise NotAllowed(f"Say why {line} is settled so: the reason goes into the ledger.")
    elif item is not None:
        _put_right(act, take, item, how, why, to, seen=line.seen_at is not None)
    if how == Settled.FOUND and line.seen_at is None:
        act.change(line, seen_at=act.now, seen_by=act.who.actor)
    act.change(line, settled=how, settled_by=act.who.actor, settled_at=act.now, why=why[:500])
    subjects: list[StockTake | Item] = [take, item] if item is not None else [take]
    act.tell(Deed.STOCK_TAKE, subjects, note=f"{line}: {how.label.lower()}: {why}")
    return line


def _count(act: Act, line: StockTakeLine, item: Item, quantity: int | None, why: str) -> None:
    if quantity is None or quantity < 0:
        raise NotAllowed(f"Give how many of {item.tag} are there, 0 or more.")
    if quantity != item.quantity:
        if not why:
            raise NotAllowed(f"The book holds {item.quantity} of {item.tag}, not {quantity}: say why.")
        count_stock(act, item, quantity, why)
    act.change(line, counted_quantity=quantity)


def _put_right(
    act: Act, take: StockTake, item: Item, how: Settled, why: str, to: Place | None, seen: bool
) -> None:
    reason = f"stock-take {take}: {why}"
    if how == Settled.LOST:
        lose(act, item, reason)
    elif how == Settled.FOUND and item.state == State.LOST:
        find_again(act, item, reason)
        if take.place is not None:
            record_details(act, fresh(item), {"place": take.place}, reason)
    elif how == Settled.MOVED:
        target = take.place if seen else to
        if target is None or target.depot_id != item.depot_id:
            raise NotAllowed(f"Say in which place of {item.depot} {item.tag} lies.")
        if not seen and target.pk == take.place_id:
            raise NotAllowed(f"{target} is where it is missing: say where it lies.")
        record_details(act, item, {"place": target}, reason)


def close_stock_take(act: Act, take: StockTake, note: str = "") -> StockTake:
    """The count is done. Refused while anything is left for a person to settle."""
    _renew(take)
    left = [now.line for now in lines_now(take) if now.open]
    if left:
        some = ", ".join(str(line) for line in left[:4])
        raise NotAllowed(
            f"{len(left)} still to settle in {take}: {some}{' and more' if len(left) > 4 else ''}. "
            "Say what became of each, then close the count."
        )
    act.change(take, closed_at=act.now, closed_by=act.who.actor, note=(note.strip() or take.note)[:500])
    seen = take.lines.filter(seen_at__isnull=False).count()
    act.tell(Deed.STOCK_TAKE, [take], note=f"count of {take.where} closed", facts={"seen": seen})
    return take


def _renew(take: StockTake) -> StockTake:
    renew(take, "depot", "place")
    if not take.open:
        raise NotAllowed(f"{take} was closed by {take.closed_by}: begin another count.")
    return take
