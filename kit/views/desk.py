"""The desk at which a person sits: their depot, their roles there, and what the navigation shows."""

from __future__ import annotations

from collections.abc import Callable, Collection
from functools import wraps
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.models import Depot, Role
from kit.ports import ports
from kit.roles import ALL, MAY, depots_of, role_said, roles_at
from kit.stores import NotAllowed, Who

DEPOT_KEY = "depot"

# (roles that see it, label, url name, icon)
NAVIGATION: list[tuple[frozenset[str], Any, str, str]] = [
    (ALL, gettext_lazy("Today"), "today", "clock"),
    (frozenset({Role.STORES}), gettext_lazy("Counter"), "counter", "counter"),
    (frozenset({Role.CREW}), gettext_lazy("At the van"), "vans", "van"),
    (ALL, gettext_lazy("Jobs"), "jobs", "job"),
    (ALL, gettext_lazy("Plan board"), "plan_board", "plan"),
    (MAY["plan"] | MAY["reserve"], gettext_lazy("What breaks"), "breaks", "caution"),
    (MAY["transfer"] | MAY["plan"], gettext_lazy("Transfers"), "transfers", "transfer"),
    (MAY["settle van entries"], gettext_lazy("From the vans"), "van_reports", "van"),
    (ALL, gettext_lazy("Register"), "register", "register"),
    (MAY["take stock"], gettext_lazy("Stock-take"), "stock_takes", "scan"),
    (MAY["plan"], gettext_lazy("Readiness"), "readiness", "kit-list"),
    (MAY["plan"], gettext_lazy("What if"), "what_if", "help"),
    (MAY["load register"], gettext_lazy("Load register"), "load_register", "sheet-in"),
    (MAY["prove"], gettext_lazy("Ledger"), "ledger", "ledger"),
    (MAY["appoint"], gettext_lazy("People"), "people", "person"),
]


class DeskMiddleware:
    """Puts `request.desk` on each request: depots the person works at, the current one, roles there."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.desk = Desk(request)  # type: ignore[attr-defined]
        return self.get_response(request)


class Desk:
    """Lazy: nothing is read from the database until a view or template asks."""

    def __init__(self, request: HttpRequest) -> None:
        self._request = request
        self._depots: list[Depot] | None = None
        self._roles: frozenset[str] | None = None

    @property
    def depots(self) -> list[Depot]:
        if self._depots is None:
            ids = depots_of(self._request.user) if hasattr(self._request, "user") else []
            self._depots = list(Depot.objects.filter(pk__in=ids))
        return self._depots

    @property
    def depot(self) -> Depot | None:
        """The current depot: the one chosen in this session, else the first."""
        chosen = self._request.session.get(DEPOT_KEY)
        return next((d for d in self.depots if d.pk == chosen), self.depots[0] if self.depots else None)

    def choose(self, depot_id: int) -> None:
        if any(d.pk == depot_id for d in self.depots):
            self._request.session[DEPOT_KEY] = depot_id
            self._roles = None

    @property
    def roles(self) -> frozenset[str]:
        if self._roles is None:
            self._roles = roles_at(self._request.user, self.depot) if self.depot else frozenset()
        return self._roles

    def may(self, action: str, depot: Depot | int | None = None) -> bool:
        """True if the person may do that at the depot (the current one by default)."""
        if depot is None:
            return bool(MAY[action] & self.roles)
        return bool(MAY[action] & roles_at(self._request.user, depot))

    @property
    def today(self) -> Any:
        return timezone.localdate()

    def who(self, source: str) -> Who:
        """The actor for the ledger; `source` says which screen."""
        return Who(self._request.user.get_username(), source)


# Where the work of each role begins: what a page that went wrong leads back to.
WORK = {
    Role.STORES: "counter",
    Role.CREW: "vans",
    Role.PLANNER: "plan_board",
    Role.EXAMINER: "bench",
    Role.COMPLIANCE: "due",
    Role.DUTY: "concessions",
}


def ways_of(roles: Collection[str]) -> list[tuple[Any, str, str]]:
    """What the navigation shows to people with these roles: (label, name of the address, icon)."""
    entries = [*NAVIGATION, *((frozenset(r), label, name, icon) for r, label, name, icon in ports.navigation)]
    return [(label, name, icon) for seen_by, label, name, icon in entries if seen_by & set(roles)]


def desk_context(request: HttpRequest) -> dict[str, Any]:
    desk = getattr(request, "desk", None)
    if desk is None or not hasattr(request, "user") or not request.user.is_authenticated:
        return {}
    here = request.resolver_match.url_name if request.resolver_match else ""
    ways = ways_of(desk.roles)
    work = {WORK[role] for role in desk.roles}
    return {
        "desk": desk,
        "current_depot": desk.depot,
        "depots": desk.depots,
        "home_url": reverse("today"),
        "depot_switch_url": reverse("switch_depot"),
        "logout_url": reverse("logout"),
        "role_names": [role_said(role) for role in sorted(desk.roles)],
        "may": {action.replace(" ", "_"): bool(roles & desk.roles) for action, roles in MAY.items()},
        "nav": [
            {"url": reverse(name), "label": label, "icon": icon, "current": here == name}
            for label, name, icon in ways
        ],
        "work": [
            {"url": reverse(name), "label": label, "icon": icon} for label, name, icon in ways if name in work
        ],
        "today": desk.today,
    }


View = Callable[..., HttpResponse]


def at_desk(action: str = "see") -> Callable[[View], View]:
    """A view for people who may do `action` at their current depot; others are told so (403)."""

    def wrap(view: View) -> View:
        @wraps(view)
        @login_required
        def inner(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.desk.may(action):  # type: ignore[attr-defined]
                raise PermissionDenied(
                    _("Your roles at this depot do not include this. Ask a compliance lead if they should.")
                )
            return view(request, *args, **kwargs)

        return inner

    return wrap


def told(request: HttpRequest, refusal: NotAllowed, to: str, *args: Any) -> HttpResponse:
    """Back to a page with the refusal as a message."""
    messages.error(request, str(refusal))
    return redirect(to, *args)
