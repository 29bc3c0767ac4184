"""Who may do what, by role; roles are held per depot (Membership)."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.utils.translation import gettext_lazy

from kit.models import Depot, Membership, Role

ALL = frozenset(Role.values)

MAY: dict[str, frozenset[str]] = {
    "see": ALL,
    "receive": frozenset({Role.STORES, Role.COMPLIANCE}),
    "load register": frozenset({Role.STORES, Role.COMPLIANCE}),
    "change item": frozenset({Role.STORES, Role.COMPLIANCE}),
    "plan": frozenset({Role.PLANNER, Role.STORES}),
    "reserve": frozenset({Role.PLANNER, Role.STORES}),
    "issue": frozenset({Role.STORES}),
    "take back": frozenset({Role.STORES}),
    "enter at the van": frozenset({Role.CREW, Role.STORES}),
    "settle van entries": frozenset({Role.STORES}),
    "take stock": frozenset({Role.STORES, Role.COMPLIANCE}),
    "transfer": frozenset({Role.STORES}),
    "set ways": frozenset({Role.COMPLIANCE, Role.PLANNER}),
    "quarantine": frozenset({Role.STORES, Role.EXAMINER, Role.COMPLIANCE, Role.CREW}),
    "release": frozenset({Role.COMPLIANCE, Role.EXAMINER}),
    "withdraw": frozenset({Role.COMPLIANCE, Role.STORES}),
    "inspect": frozenset({Role.EXAMINER}),
    "attach": frozenset({Role.STORES, Role.EXAMINER, Role.COMPLIANCE, Role.CREW}),
    "repair": frozenset({Role.STORES, Role.EXAMINER, Role.COMPLIANCE}),
    "order re-test": frozenset({Role.EXAMINER, Role.COMPLIANCE}),
    "set checks": frozenset({Role.COMPLIANCE}),
    "ask concession": frozenset({Role.STORES, Role.PLANNER, Role.CREW, Role.EXAMINER, Role.COMPLIANCE}),
    "grant concession": frozenset({Role.DUTY, Role.COMPLIANCE}),
    "print labels": frozenset({Role.STORES, Role.EXAMINER, Role.COMPLIANCE}),
    "set labels": frozenset({Role.STORES, Role.COMPLIANCE}),
    "export": ALL - {Role.CREW},
    "prove": frozenset({Role.COMPLIANCE}),
    "appoint": frozenset({Role.COMPLIANCE}),
}
"""Action -> roles. TRADE: stores person receives, issues, takes back, quarantines; examiner passes and fails;
crew reports; compliance lead releases and sets intervals; planner plans; duty manager grants concessions. Common
practice, no source."""

SAID: dict[str, Any] = {
    "see": gettext_lazy("look at everything of the depot"),
    "receive": gettext_lazy("take in new pieces"),
    "load register": gettext_lazy("load a register from a spreadsheet"),
    "change item": gettext_lazy("change what is recorded of a piece, and the places of the store"),
    "plan": gettext_lazy("plan, change and cancel jobs"),
    "reserve": gettext_lazy("reserve pieces for jobs and let them go"),
    "issue": gettext_lazy("issue at the counter"),
    "take back": gettext_lazy("take back at the counter"),
    "enter at the van": gettext_lazy("enter at the van"),
    "settle van entries": gettext_lazy("settle van entries"),
    "take stock": gettext_lazy("take stock"),
    "transfer": gettext_lazy("send to another depot and sign for what arrives"),
    "set ways": gettext_lazy("set ways between depots and what a bench does a day"),
    "quarantine": gettext_lazy("set pieces aside and note them as lost"),
    "release": gettext_lazy("release from quarantine what somebody else set aside"),
    "withdraw": gettext_lazy("withdraw pieces for good"),
    "inspect": gettext_lazy("test, inspect and calibrate"),
    "attach": gettext_lazy("attach photos and certificates"),
    "repair": gettext_lazy("record repairs"),
    "order re-test": gettext_lazy("ask for a re-test"),
    "set checks": gettext_lazy("set kinds and their checks"),
    "ask concession": gettext_lazy("ask for a concession"),
    "grant concession": gettext_lazy("decide on a concession that somebody else asked for"),
    "print labels": gettext_lazy("print labels"),
    "set labels": gettext_lazy("set the sheets and rolls that labels are printed on"),
    "export": gettext_lazy("write lists out as spreadsheets"),
    "prove": gettext_lazy("read the ledger"),
    "appoint": gettext_lazy("add people, give them roles and take roles away"),
}
"""Each action in words, as the end of "may ..."."""

ROLE_SAID: dict[str, Any] = {
    Role.STORES: gettext_lazy("Stores person"),
    Role.CREW: gettext_lazy("Van crew"),
    Role.PLANNER: gettext_lazy("Planner"),
    Role.EXAMINER: gettext_lazy("Examiner"),
    Role.COMPLIANCE: gettext_lazy("Compliance lead"),
    Role.DUTY: gettext_lazy("Duty manager"),
}

User = AbstractBaseUser | AnonymousUser


def said_of(roles: Collection[str]) -> list[str]:
    """What people with these roles may do, in words, in the order of `MAY`."""
    return [str(SAID[action]) for action, allowed in MAY.items() if allowed & set(roles)]


def role_said(role: str) -> str:
    return str(ROLE_SAID[role])


def roles_at(user: User, depot: Depot | int) -> frozenset[str]:
    """Roles of the user at the depot."""
    if not user.is_authenticated:
        return frozenset()
    depot_id = depot if isinstance(depot, int) else depot.pk
    return frozenset(
        Membership.objects.filter(user_id=user.pk, depot_id=depot_id).values_list("role", flat=True)
    )


def may(user: User, action: str, depot: Depot | int) -> bool:
    """True if one of the user's roles at the depot allows the action. KeyError for an action nobody named."""
    return bool(MAY[action] & roles_at(user, depot))


def depots_of(user: User, action: str = "see") -> Collection[int]:
    """Ids of the depots at which the user may do that."""
    if not user.is_authenticated:
        return []
    return list(
        Membership.objects.filter(user_id=user.pk, role__in=MAY[action])
        .values_list("depot_id", flat=True)
        .distinct()
        .order_by("depot__code")
    )
