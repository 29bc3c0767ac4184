"""Part of a lot under a tag of its own, so that it can lie elsewhere: the box that travels carries a label too."""

from __future__ import annotations

from copy import copy
from itertools import count

from kit.models import Depot, Item, Reservation, Standing
from kit.stores.act import Act, NotAllowed

LONGEST_TAG = 60


def refuse_part(lot: Item, quantity: int) -> None:
    """Raise NotAllowed with why so much of the lot cannot go; reads only."""
    if lot.quantity == 0:
        raise NotAllowed(f"Nothing is left of {lot.tag}: count it first if there is.")
    if not 1 <= quantity <= lot.quantity:
        raise NotAllowed(
            f"{lot.tag} holds {lot.quantity} here: between 1 and {lot.quantity} of it can be sent."
        )
    if lot.gates and not _goes_whole(lot, quantity):
        checks = ", ".join(gate.check for gate in lot.gates)
        rest = "some of it is out on site" if quantity == lot.quantity else f"send all {lot.quantity} of it"
        raise NotAllowed(f"{lot.tag} has records of its own ({checks}), which cannot be divided: {rest}.")


def _goes_whole(lot: Item, quantity: int) -> bool:
    """What is out on site comes back to the lot, so its row stays while any is."""
    out = Reservation.objects.filter(item=lot, standing=Standing.ISSUED).exists()
    return quantity == lot.quantity and not out


def part_of(act: Act, lot: Item, quantity: int, to: Depot) -> Item:
    """The row that goes to `to` with `quantity` of the lot: the lot itself when all of it goes, else a new one.

    A tag is unique for ever, so the part is named after the lot and the depot (LOT-7/MB) and keeps maker, batch and
    dates; the sum of the two is what the lot held. Told by whoever sends it. Raises NotAllowed with why.
    """
    refuse_part(lot, quantity)
    if _goes_whole(lot, quantity):
        return lot
    part = copy(lot)
    part.pk, part._state = None, type(lot._state)()
    part.tag, part.quantity = tag_of_part(lot.tag, lot.batch, to), quantity
    part.batch = lot.batch or lot.tag[:80]
    part.serial, part.place, part.note = "", None, ""
    act.change(lot, quantity=lot.quantity - quantity)
    return part


def tag_of_part(tag: str, batch: str, to: Depot) -> str:
    """LOT-7/MB, then LOT-7/MB-2: a part of a part is named after the lot, as long as its batch says which that was."""
    root = batch if batch and tag.startswith(f"{batch}/") else tag
    for number in count(1):
        end = f"/{to.code}" if number == 1 else f"/{to.code}-{number}"
        name = f"{root[: max(1, LONGEST_TAG - len(end))]}{end}"[-LONGEST_TAG:]
        if not Item.objects.filter(tag__iexact=name).exists():
            return name
    raise AssertionError("counting does not end")
