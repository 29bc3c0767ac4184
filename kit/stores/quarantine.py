"""Set a piece aside, withdraw it for good, note it as lost, and take it in again when it is found."""

from __future__ import annotations

from kit.models import Custody, Deed, Item, State
from kit.ports import ports
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh
from kit.stores.rejudge import rejudge


def _move(act: Act, item: Item, state: State, why: str, deed: Deed) -> None:
    act.change(item, state=state, state_why=why[:500], state_by=act.who.actor, state_since=act.now)
    act.tell(deed, [item], note=why)
    for hear in ports.moved:
        hear(act, item, why)
    rejudge(act, [item.pk])


def _reason(why: str, what: str) -> str:
    if not why.strip():
        raise NotAllowed(f"Say why the item is {what}: the reason goes on its tag and into the ledger.")
    return why.strip()


def quarantine(act: Act, item: Item, why: str) -> None:
    """Set the item aside. A second reason for one that is set aside already is noted without a new case."""
    why = _reason(why, "set aside")
    item = fresh(item)
    if item.state == State.WITHDRAWN:
        raise NotAllowed(f"{item.tag} is withdrawn: it cannot be set aside.")
    if item.state == State.QUARANTINED:
        # Whoever set it aside first stays named, but a further finding must not be lost.
        act.tell(Deed.QUARANTINED, [item], note=f"further reason: {why}")
        for hear in ports.moved:
            hear(act, item, why)
        return
    _move(act, item, State.QUARANTINED, why, Deed.QUARANTINED)


def withdraw(act: Act, item: Item, why: str) -> None:
    """Take the item out of service for good (disposal), with the cause."""
    why = _reason(why, "withdrawn")
    item = fresh(item)
    refuse_away(item, "withdrawn")
    if item.state == State.WITHDRAWN:
        raise NotAllowed(f"{item.tag} is withdrawn already.")
    _move(act, item, State.WITHDRAWN, why, Deed.WITHDRAWN)


def lose(act: Act, item: Item, why: str) -> None:
    """Note that the item cannot be found."""
    why = _reason(why, "noted as lost")
    item = fresh(item)
    if item.state == State.WITHDRAWN:
        raise NotAllowed(f"{item.tag} is withdrawn already.")
    _move(act, item, State.LOST, why, Deed.LOST)


def find_again(act: Act, item: Item, why: str) -> None:
    """A lost item turned up: nobody knows where it has been, so it goes to quarantine."""
    item = fresh(item)
    if item.state != State.LOST:
        raise NotAllowed(f"{item.tag} is not noted as lost.")
    if item.custody == Custody.IN_TRANSIT:
        raise NotAllowed(
            f"{item.tag} was lost on its way to {item.transit_to}: sign for it on its consignment, at the depot where "
            "it turned up."
        )
    _move(act, item, State.QUARANTINED, f"found again: {_reason(why, 'taken in again')}", Deed.FOUND_AGAIN)


def refuse_away(item: Item, what: str) -> None:
    if item.custody == Custody.ON_SITE:
        raise NotAllowed(f"{item.tag} is on site: take it back before it is {what}.")
    if item.custody == Custody.IN_TRANSIT:
        raise NotAllowed(f"{item.tag} is in transit: take it in at its depot before it is {what}.")
