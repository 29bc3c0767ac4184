"""One piece sent to another depot and taken in there: a consignment of one, so that there is one way only."""

from __future__ import annotations

from datetime import date

from kit.models import Custody, Depot, Item, Transfer
from kit.stores.act import Act, NotAllowed
from kit.stores.arrival import on_the_way, sign_for, take_in_unlisted
from kit.stores.consignment import Load, send_all
from kit.stores.current import fresh


def send(act: Act, item: Item, to: Depot, arrives_on: date, sent_on: date | None = None) -> Transfer:
    """Hand the item (all there is of a lot) over for `to`, expected there on `arrives_on`.

    `sent_on` an earlier day: a late entry of what left then.
    """
    return send_all(act, [Load(item)], to, arrives_on, sent_on=sent_on)


def arrive(act: Act, item: Item, arrived_on: date | None = None) -> None:
    """Take the item in at the depot it was sent to; not by the person who sent it.

    One that was noted as lost on the way is found again, and so set aside. `arrived_on` an earlier day: a late entry.
    """
    item = fresh(item)
    if item.custody != Custody.IN_TRANSIT:
        raise NotAllowed(f"{item.tag} is not in transit.")
    line = on_the_way(item)
    if line is not None:
        sign_for(act, line, arrived_on=arrived_on)
    else:
        # It was on its way already when consignments began to be kept.
        take_in_unlisted(act, item, arrived_on)
