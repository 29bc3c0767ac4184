"""Send a consignment to another depot: pieces and quantities of lots, all in one act or nothing of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Max

from kit.models import Custody, Deed, Depot, Item, State, Transfer, TransferLine
from kit.ports import ports
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh
from kit.stores.late import happened_on
from kit.stores.part_lot import part_of, refuse_part
from kit.stores.quarantine import refuse_away
from kit.stores.refit import refit
from kit.stores.rejudge import rejudge

MOST_PIECES = 200
"""How many pieces and lots one consignment takes; a van holds fewer (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Load:
    """A piece, or `quantity` of a lot; None: all of the lot that lies there."""

    item: Item
    quantity: int | None = None


class ConsignmentRefused(NotAllowed):
    """Why nothing was sent; `bars` names it for each piece that stands in the way, by tag."""

    def __init__(self, bars: dict[str, str]) -> None:
        super().__init__(" ".join(bars.values()))
        self.bars = bars


def send_all(
    act: Act,
    loads: Sequence[Load],
    to: Depot,
    arrives_on: date,
    carrier: str = "",
    note: str = "",
    sent_on: date | None = None,
) -> Transfer:
    """Hand over what is listed for `to`, expected there on `arrives_on`. Until it is signed for it is in transit.

    Whoever acts signs for sending. What it was promised to and cannot reach before loading breaks in the same act.
    `sent_on` an earlier day: a late entry of what left then. Raises ConsignmentRefused with every bar.
    """
    if not loads:
        raise NotAllowed("Nothing is in the consignment yet: scan what goes with it.")
    if len(loads) > MOST_PIECES:
        raise NotAllowed(f"A consignment takes {MOST_PIECES} pieces at most: send the rest as another one.")
    listed = [Load(fresh(load.item), load.quantity) for load in loads]
    leaves = listed[0].item.depot
    if bars := bars_of(listed, leaves, to):
        raise ConsignmentRefused(bars)
    if arrives_on < (sent_on or act.today):
        raise NotAllowed(f"{arrives_on} is past: give the day on which the consignment is expected at {to}.")
    moments = [happened_on(act, load.item, sent_on, "been sent") for load in listed]
    made = act.create(
        Transfer(
            number=1 + (Transfer.objects.aggregate(n=Max("number"))["n"] or 0),
            from_depot=leaves,
            to_depot=to,
            sent_on=sent_on or act.today,
            arrives_on=arrives_on,
            sent_by=act.who.actor,
            carrier=carrier.strip()[:120],
            note=note.strip()[:500],
        )
    )
    touched: list[int] = []
    for load, moment in zip(listed, moments, strict=True):
        with act.at(moment):
            touched += _hand_over(act, made, load)
    rejudge(act, touched)
    return made


def bars_of(loads: Sequence[Load], leaves: Depot, to: Depot) -> dict[str, str]:
    """By tag, why a piece cannot go with this consignment; empty if all can. Reads only."""
    bars: dict[str, str] = {}
    seen: set[int] = set()
    for load in loads:
        item = load.item
        try:
            _refuse(item, leaves, to)
            if item.counted:
                refuse_part(item, item.quantity if load.quantity is None else load.quantity)
            if item.pk in seen:
                raise NotAllowed(f"{item.tag} is listed twice: take one of the two out.")
        except NotAllowed as refusal:
            bars[item.tag] = str(refusal)
        seen.add(item.pk)
    for load in loads:
        left = [tag for tag in _mates_left(load.item) if tag not in {other.item.tag for other in loads}]
        if left and load.item.tag not in bars:
            bars[load.item.tag] = (
                f"{load.item.tag} is of the set {load.item.set_name}, which goes together or stays: "
                f"scan {', '.join(left)} as well, or take the set apart first."
            )
    return bars


def _refuse(item: Item, leaves: Depot, to: Depot) -> None:
    refuse_away(item, "sent")
    if item.state != State.AVAILABLE:
        raise NotAllowed(f"{item.tag} is {item.get_state_display().lower()} and stays where it is.")
    if item.depot_id == to.pk:
        raise NotAllowed(f"{item.tag} is at {to} already.")
    if item.depot_id != leaves.pk:
        raise NotAllowed(
            f"{item.tag} is at {item.depot} and this consignment leaves {leaves}: take it out of the list."
        )


def _mates_left(item: Item) -> list[str]:
    """Tags of the other pieces of its set at its depot that are still in use."""
    if not item.set_name:
        return []
    mates = Item.objects.in_use().filter(set_name=item.set_name, depot=item.depot_id).exclude(pk=item.pk)
    return list(mates.order_by("tag").values_list("tag", flat=True))


def _hand_over(act: Act, transfer: Transfer, load: Load) -> list[int]:
    """One piece goes on its way; the ids of the items whose promises are to be judged."""
    lot = load.item
    quantity = (lot.quantity if load.quantity is None else load.quantity) if lot.counted else 1
    item = part_of(act, lot, quantity, transfer.to_depot) if lot.counted else lot
    way = {
        "custody": Custody.IN_TRANSIT,
        "transit_to": transfer.to_depot,
        "arrives_on": transfer.arrives_on,
        "sent_by": transfer.sent_by,
    }
    if item is lot:
        act.change(item, **way)
    else:
        for name, value in way.items():
            setattr(item, name, value)
        act.create(item)
    act.create(TransferLine(transfer=transfer, item=item, quantity=quantity))
    facts = {
        "arrives_on": transfer.arrives_on,
        "carrier": transfer.carrier,
        "quantity": quantity,
        # What was known of it when it left: a transfer note printed anew says the same.
        "fit_until": item.fit_until,
        "fit_reason": item.fit_reason,
        "inspections": ports.last_inspections([lot.pk]).get(lot.pk, []),
    }
    subjects = [item, transfer.from_depot, transfer.to_depot, transfer]
    way_told = f"on {transfer} from {transfer.from_depot.code} to {transfer.to_depot.code}"
    if item is lot:
        act.tell(Deed.SENT, subjects, note=way_told, facts=facts)
        return [item.pk]
    note = f"{quantity} of {lot.tag}, labelled {item.tag}, {way_told}"
    act.tell(Deed.SENT, [*subjects, lot], note=note, facts={**facts, "left in the store": lot.quantity})
    refit(act, [item])
    return [lot.pk]
