"""Who may do what, by role; roles are held per depot (Membership)."""

from __future__ import annotations

from collections.abc import Collection

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

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
    "export": ALL - {Role.CREW},
    "prove": frozenset({Role.COMPLIANCE}),
}
"""Action -> roles. TRADE: stores person receives, issues, takes back, quarantines; examiner passes and fails;
crew reports; compliance lead releases and sets intervals; planner plans; duty manager grants concessions. Common
practice, no source."""

User = AbstractBaseUser | AnonymousUser


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
