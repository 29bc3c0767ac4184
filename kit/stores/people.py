"""Who works at a depot: roles given and taken away, people added, stood down and taken up again, each with a reason.

Three rules hold here, whoever asks: nobody gives a role to themselves, the last who may appoint at a depot stays, and
an account is closed only by somebody who may appoint wherever that person holds a role.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from hashlib import sha256

from django.contrib.auth.models import User

from kit.models import Deed, Depot, Membership, Role
from kit.roles import MAY, depots_of, may
from kit.stores.act import Act, NotAllowed, Who
from kit.stores.appoint import appoint
from kit.stores.foresee import rehearse

APPOINT = "appoint"


def give_role(act: Act, user: User, depot: Depot, role: Role | str, why: str) -> Membership:
    """Give the person a role at the depot. Raises NotAllowed for oneself, a role held already, or no reason."""
    _refuse_stranger(act, [depot.pk])
    _refuse_without(why, f"{user.get_username()} is given a role")
    if user.get_username() == act.who.actor:
        raise NotAllowed(
            "Nobody gives a role to themselves: ask somebody else who may appoint at this depot."
        )
    if Membership.objects.filter(user=user, depot=depot, role=role).exists():
        raise NotAllowed(f"{user.get_username()} is {_role_word(role)} at {depot} already.")
    return appoint(act, user, depot, role, why)


def take_role(act: Act, user: User, depot: Depot, role: Role | str, why: str) -> Membership:
    """Take a role away from the person at the depot; what they did in it stays as it was recorded.

    Raises NotAllowed where they do not hold it, where nobody else would be left who may appoint, or without a reason.
    """
    _refuse_stranger(act, [depot.pk])
    _refuse_without(why, f"a role is taken away from {user.get_username()}")
    held = Membership.objects.filter(user=user, depot=depot, role=role).first()
    if held is None:
        raise NotAllowed(f"{user.get_username()} is not {_role_word(role)} at {depot}: load the page again.")
    act.change(held, withdrawn=True)
    _refuse_nobody_left(user, depot)
    name = user.get_username()
    note = f"{name} is {held.get_role_display()} at {depot} no longer: {why.strip()}"
    act.tell(Deed.RELIEVED, [f"user:{name}", depot], note=note)
    return held


def add_person(
    act: Act, name: str, depot: Depot, role: Role | str, why: str, first_name: str = "", last_name: str = ""
) -> User:
    """An account without a password, with one role at the depot. Its owner sets the password by a link.

    Raises NotAllowed for a name that somebody has, also in other letters: two people must not look alike in the ledger.
    """
    _refuse_stranger(act, [depot.pk])
    _refuse_without(why, f"{name} is added")
    if User.objects.filter(username__iexact=name).exists():
        raise NotAllowed(
            f"There is an account {name} already: give that person a role, or take another name."
        )
    user = User(username=name, first_name=first_name, last_name=last_name)
    user.set_unusable_password()
    act.put_beside(user)
    act.tell(
        Deed.PERSON,
        [f"user:{name}", depot],
        note=f"account {name} set up: {why.strip()}",
        facts={"open": True},
    )
    appoint(act, user, depot, role, why.strip())
    return user


def stand_down(act: Act, user: User, why: str) -> None:
    """Close the account: the person cannot sign in any more. Their roles stay recorded, and count for nothing.

    Raises NotAllowed for oneself and for whoever holds a role where the actor may not appoint: so somebody who may
    appoint is left at each of these depots.
    """
    _refuse_stranger(act, _depots_with(user))
    _refuse_without(why, f"the account of {user.get_username()} is closed")
    name = user.get_username()
    if name == act.who.actor:
        raise NotAllowed("Nobody closes their own account: ask somebody else who may appoint.")
    user.refresh_from_db()
    if not user.is_active:
        raise NotAllowed(f"The account of {name} is closed already.")
    act.change_beside(user, is_active=False)
    act.tell(
        Deed.PERSON,
        [f"user:{name}", *_depots_of(user)],
        note=f"account {name} closed: {why.strip()}",
        facts={"open": False},
    )


def take_up_again(act: Act, user: User, why: str) -> None:
    """Open a closed account: the person may sign in again and holds the roles that they held.

    Raises NotAllowed for whoever holds a role where the actor may not appoint, and for an account that is open.
    """
    _refuse_stranger(act, _depots_with(user))
    _refuse_without(why, f"the account of {user.get_username()} is opened again")
    user.refresh_from_db()
    name = user.get_username()
    if user.is_active:
        raise NotAllowed(f"The account of {name} is open already.")
    act.change_beside(user, is_active=True)
    act.tell(
        Deed.PERSON,
        [f"user:{name}", *_depots_of(user)],
        note=f"account {name} opened again: {why.strip()}",
        facts={"open": True},
    )


def note_password_link(act: Act, user: User, why: str) -> None:
    """Tell that a link to set a password is given out; neither the link nor a password is in the ledger.

    Raises NotAllowed for oneself, a closed account, and whoever holds a role where the actor may not appoint: whoever
    has the link can sign in as that person.
    """
    _refuse_stranger(act, _depots_with(user))
    name = user.get_username()
    _refuse_without(why, f"{name} is given a link to set a password")
    if name == act.who.actor:
        raise NotAllowed("Nobody gives out a link for themselves: ask somebody else who may appoint.")
    if not user.is_active:
        raise NotAllowed(f"The account of {name} is closed: open it again first.")
    note = f"link to set a password given out for {name}: {why.strip()}"
    act.tell(Deed.PERSON, [f"user:{name}", *_depots_of(user)], note=note)


def note_password_set(act: Act, user: User) -> None:
    """Tell that the person set their password by the link."""
    act.tell(Deed.PERSON, [f"user:{user.get_username()}", *_depots_of(user)], note="password set by the link")


ChangePeople = Callable[[Act], User]
"""Changes somebody's roles or account and gives the person."""


@dataclass(frozen=True, slots=True)
class ForeseenPerson:
    """What a change of people brings. `gains` and `loses` are (depot, action of kit.roles) pairs of the person;
    `left_without` are (depot, role) pairs that somebody with an open account holds now and nobody would. `seen` marks
    all this.
    """

    gains: tuple[tuple[Depot, str], ...]
    loses: tuple[tuple[Depot, str], ...]
    left_without: tuple[tuple[Depot, str], ...]
    seen: str


def foresee_person(who: Who, name: str, change: ChangePeople) -> ForeseenPerson:
    """What the change would bring to the person of that name. Nothing is written. Raises NotAllowed where it would."""
    return rehearse(who, lambda act: _told(act, name, change))


def change_as_seen(act: Act, name: str, change: ChangePeople, seen: str) -> User:
    """Make the change; refused, with nothing written, if it brings something else by now than was shown."""
    before = _may_now(name), _held_now()
    made = change(act)
    if _compared(name, before).seen != seen:
        raise NotAllowed(
            "Something else would change by now than was shown: nothing is recorded. Look at it again, then record it."
        )
    return made


def _told(act: Act, name: str, change: ChangePeople) -> ForeseenPerson:
    before = _may_now(name), _held_now()
    change(act)
    return _compared(name, before)


def _compared(name: str, before: tuple[set[tuple[int, str]], set[tuple[int, str]]]) -> ForeseenPerson:
    could, held = before
    can, holds = _may_now(name), _held_now()
    depots = {depot.pk: depot for depot in Depot.objects.all()}

    def named(pairs: set[tuple[int, str]], order: list[str]) -> tuple[tuple[Depot, str], ...]:
        listed = sorted(pairs, key=lambda pair: (depots[pair[0]].code, order.index(pair[1])))
        return tuple((depots[key], what) for key, what in listed)

    gains, loses, gone = (
        named(can - could, list(MAY)),
        named(could - can, list(MAY)),
        named(held - holds, Role.values),
    )
    told = [[(depot.code, what) for depot, what in pairs] for pairs in (gains, loses, gone)]
    return ForeseenPerson(gains, loses, gone, sha256(repr((name, told)).encode()).hexdigest())


def _may_now(name: str) -> set[tuple[int, str]]:
    """What the person of that name may do, as (depot, action); nothing with a closed account."""
    held = Membership.objects.filter(user__username=name, user__is_active=True).values_list(
        "depot_id", "role"
    )
    return {(depot, action) for depot, role in held for action, roles in MAY.items() if role in roles}


def _held_now() -> set[tuple[int, str]]:
    """The roles that somebody with an open account holds, as (depot, role)."""
    return set(Membership.objects.filter(user__is_active=True).values_list("depot_id", "role"))


def who_may_appoint(depot: Depot, other_than: User | None = None) -> list[User]:
    """People with an open account whose role at the depot lets them appoint."""
    held = Membership.objects.filter(depot=depot, role__in=MAY[APPOINT], user__is_active=True)
    users = User.objects.filter(pk__in=held.values("user")).order_by("username")
    return list(users.exclude(pk=other_than.pk) if other_than else users)


def others_with(user: User, depot: Depot, role: Role | str) -> int:
    """How many other people with an open account hold the role at the depot."""
    held = Membership.objects.filter(depot=depot, role=role, user__is_active=True)
    return held.exclude(user=user).count()


def _depots_with(user: User) -> list[int]:
    return list(Membership.objects.filter(user=user).values_list("depot_id", flat=True).distinct())


def _depots_of(user: User) -> list[Depot]:
    return list(Depot.objects.filter(pk__in=_depots_with(user)))


def _refuse_stranger(act: Act, depots: Collection[int]) -> None:
    """Raise NotAllowed unless whoever acts may appoint at each of these depots, or at any where there is none."""
    actor = User.objects.filter(username=act.who.actor, is_active=True).first()
    where = [
        depot
        for depot in Depot.objects.filter(pk__in=depots)
        if actor is None or not may(actor, APPOINT, depot)
    ]
    if where:
        raise NotAllowed(
            f"{act.who.actor} may not appoint at {', '.join(map(str, where))}: ask somebody who may, or change "
            "only the roles at your own depot."
        )
    if not depots and (actor is None or not depots_of(actor, APPOINT)):
        raise NotAllowed(f"{act.who.actor} may not appoint at any depot.")


def _refuse_nobody_left(user: User, depot: Depot) -> None:
    """Raise NotAllowed if what was just changed of the person leaves nobody who may appoint at the depot."""
    if not who_may_appoint(depot):
        raise NotAllowed(
            f"{user.get_username()} is the last who may appoint at {depot}: give somebody else the role "
            f"{_role_word(Role.COMPLIANCE)} first."
        )


def _refuse_without(why: str, what: str) -> None:
    if not why.strip():
        raise NotAllowed(f"Say why {what}.")


def _role_word(role: Role | str) -> str:
    return str(Role(role).label) if role in Role.values else str(role)
