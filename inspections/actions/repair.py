"""Repaired, or to be tested again: what calls for checks besides their dates and a use."""

from __future__ import annotations

from inspections.actions.calls import call_for
from inspections.models import Cause, Check, RetestCall
from kit.models import Deed, Item, State
from kit.stores import Act, NotAllowed, fresh, refit
from kit.stores.quarantine import refuse_away


def repair(act: Act, item: Item, what: str) -> RetestCall:
    """Note a repair: every check that a repair calls for is due at once, until it is done again.

    Raises NotAllowed without a word on what was done, and for an item that nobody here can have repaired.
    """
    if not what.strip():
        raise NotAllowed("Say what was repaired and with which parts: it goes into the item's story.")
    item = _at_hand(item, "repaired")
    call = act.create(call_for(act, item, Cause.REPAIR, what.strip()))
    act.tell(Deed.REPAIRED, [item], note=what.strip())
    refit(act, [item])
    return call


def order_retest(act: Act, item: Item, check: Check, why: str) -> RetestCall:
    """Ask for one check of one item before its date: it is due at once, until it is done again.

    Raises NotAllowed without a reason, and for a check that is not asked of the item.
    """
    if not why.strip():
        raise NotAllowed("Say why it is to be tested again: whoever tests it must know what to look for.")
    item = fresh(item)
    if item.state in (State.WITHDRAWN, State.LOST):
        raise NotAllowed(
            f"{item.tag} is {item.get_state_display().lower()}: no check of it can be asked for."
        )
    check = Check.objects.get(pk=check.pk)
    if check.retired or not check.is_asked_of(item):
        raise NotAllowed(
            f"{check.name} is not asked of {item.tag}: choose one of its checks, or let the compliance lead set one."
        )
    call = act.create(call_for(act, item, Cause.ORDERED, why.strip(), check))
    act.tell(Deed.RETEST, [item], note=f"{check.name}: {why.strip()}", facts={"check": check.name})
    refit(act, [item])
    return call


def _at_hand(item: Item, what: str) -> Item:
    item = fresh(item)
    if item.counted:
        raise NotAllowed(f"{item.tag} is a lot, and only single pieces are {what}: count it again instead.")
    if item.state in (State.WITHDRAWN, State.LOST):
        raise NotAllowed(f"{item.tag} is {item.get_state_display().lower()}: it cannot be {what}.")
    refuse_away(item, what)
    return item
