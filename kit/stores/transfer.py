"""Send a piece to another depot and take it in there: two signatures by two people."""

from __future__ import annotations

from datetime import date

from kit.models import Custody, Deed, Depot, Item, State
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh
from kit.stores.late import happened_on
from kit.stores.quarantine import find_again, refuse_away
from kit.stores.rejudge import rejudge


def send(act: Act, item: Item, to: Depot, arrives_on: date, sent_on: date | None = None) -> None:
    """Hand the item over for `to`, expected there on `arrives_on`. Until it is taken in it is in transit.

    `sent_on` an earlier day: a late entry of what left then.
    """
    item = fresh(item)
    refuse_away(item, "sent")
    if item.state != State.AVAILABLE:
        raise NotAllowed(f"{item.tag} is {item.get_state_display().lower()} and stays where it is.")
    if item.depot_id == to.pk:
        raise NotAllowed(f"{item.tag} is at {to} already.")
    if item.counted:
        raise NotAllowed(f"{item.tag} is a lot: count it out of one depot and into the other.")
    if arrives_on < (sent_on or act.today):
        raise NotAllowed(f"{arrives_on} is past: give the day on which {item.tag} is expected at {to}.")
    moment = happened_on(act, item, sent_on, "been sent")
    act.change(item, custody=Custody.IN_TRANSIT, transit_to=to, arrives_on=arrives_on, sent_by=act.who.actor)
    act.tell(Deed.SENT, [item, item.depot, to], facts={"arrives_on": arrives_on}, happened_at=moment)
    rejudge(act, [item.pk])


def arrive(act: Act, item: Item, arrived_on: date | None = None) -> None:
    """Take the item in at the depot it was sent to; not by the person who sent it.

    One that was noted as lost on the way is found again, and so set aside. `arrived_on` an earlier day: a late entry.
    """
    item = fresh(item)
    if item.custody != Custody.IN_TRANSIT or item.transit_to is None:
        raise NotAllowed(f"{item.tag} is not in transit.")
    if item.sent_by == act.who.actor:
        raise NotAllowed(f"You sent {item.tag}: somebody else must sign that it arrived.")
    moment = happened_on(act, item, arrived_on, "arrived")
    act.change(
        item,
        depot=item.transit_to,
        place=None,
        custody=Custody.STORE,
        transit_to=None,
        arrives_on=None,
        sent_by="",
    )
    act.tell(Deed.ARRIVED, [item, item.depot], happened_at=moment)
    if item.state == State.LOST:
        find_again(act, item, why=f"arrived at {item.depot}")
    else:
        rejudge(act, [item.pk])
