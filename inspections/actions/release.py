"""Release an item from quarantine: by somebody who neither set it aside nor failed it."""

from __future__ import annotations

from kit.models import Deed, Item, State
from kit.ports import ports
from kit.stores import Act, NotAllowed, fresh, rejudge, set_aside


def release(act: Act, item: Item, findings: str) -> None:
    """Return the item to the store, with what the investigation found. Its checks still decide whether it is fit.

    Raises NotAllowed if the item is not in quarantine, no findings are given, or the person set it aside or
    failed it (rule 7 of the trade).
    """
    item = fresh(item)
    if item.state != State.QUARANTINED:
        raise NotAllowed(f"{item.tag} is not in quarantine.")
    if not findings.strip():
        raise NotAllowed("Write what was found and why the item may go back into the store.")
    apart = set_aside(item)
    if act.who.actor in apart.people:
        raise NotAllowed(f"You set {item.tag} aside: somebody else must release it.")
    if act.who.actor in ports.judge.failed_by(item, apart.since):
        raise NotAllowed(f"You failed {item.tag}: somebody else must release it.")
    act.change(item, state=State.AVAILABLE, state_why="", state_by=act.who.actor, state_since=act.now)
    act.tell(Deed.RELEASED, [item], note=findings.strip())
    rejudge(act, [item.pk])


def barred_from_release(item: Item) -> frozenset[str]:
    """Everybody who may not release the item: who set it aside since its last release, or failed it."""
    apart = set_aside(item)
    return apart.people | ports.judge.failed_by(item, apart.since)
