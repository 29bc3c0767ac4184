"""Give a person a role at a depot: what they may do there follows from it (see `kit.roles`)."""

from __future__ import annotations

from django.contrib.auth.models import User

from kit.models import Deed, Depot, Membership, Role
from kit.stores.act import Act, NotAllowed


def appoint(act: Act, user: User, depot: Depot, role: Role | str, why: str = "") -> Membership:
    """The person's role at the depot, given if they do not have it yet. A second time changes nothing.

    Raises NotAllowed for a role that is not known, or for a person whose account is closed.
    """
    name = user.get_username()
    if role not in Role.values:
        raise NotAllowed(f"There is no role {role!r}: name one of {', '.join(Role.values)}.")
    if not user.is_active:
        raise NotAllowed(f"The account of {name} is closed: open it again before a role is given.")
    held = Membership.ever.filter(user=user, depot=depot, role=role).first()
    if held is not None and not held.withdrawn:
        return held
    if held is None:
        held = act.create(Membership(user=user, depot=depot, role=role))
    else:
        act.change(held, withdrawn=False)
    said = f"{name} is {held.get_role_display()} at {depot}"
    act.tell(Deed.APPOINTED, [f"user:{name}", depot], note=f"{said}: {why}" if why else said)
    return held
