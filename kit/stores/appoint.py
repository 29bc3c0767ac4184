"""Give a person a role at a depot: what they may do there follows from it (see `kit.roles`)."""

from __future__ import annotations

from django.contrib.auth.models import User

from kit.models import Deed, Depot, Membership, Role
from kit.stores.act import Act, NotAllowed


def appoint(act: Act, user: User, depot: Depot, role: Role | str) -> Membership:
    """The person's role at the depot, given if they do not have it yet. A second time changes nothing.

    Raises NotAllowed for a role that is not known, or for a person whose account is closed.
    """
    name = user.get_username()
    if role not in Role.values:
        raise NotAllowed(f"There is no role {role!r}: name one of {', '.join(Role.values)}.")
    if not user.is_active:
        raise NotAllowed(f"The account of {name} is closed: open it again before a role is given.")
    held = Membership.objects.filter(user=user, depot=depot, role=role).first()
    if held is not None:
        return held
    made = act.create(Membership(user=user, depot=depot, role=role))
    act.tell(Deed.APPOINTED, [f"user:{name}", depot], note=f"{name} is {made.get_role_display()} at {depot}")
    return made
