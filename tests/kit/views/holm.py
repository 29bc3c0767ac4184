"""An invented yard to test screens on: two depots, a person for each role, a few pieces, a job.

All of it is made by the actions, so that the ledger tells of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Arrangement, Deed, Depot, Item, Job, Kind, Membership, Role
from kit.stores import (
    LineSpec,
    Who,
    acting,
    depot_named,
    found_register,
    plan_job,
    receive,
    reserve,
    set_arrangement,
)

CLERK = Who("register", "test")
PEOPLE = {
    "sal": Role.STORES,
    "cal": Role.CREW,
    "pat": Role.PLANNER,
    "eve": Role.EXAMINER,
    "max": Role.EXAMINER,
    "lee": Role.COMPLIANCE,
}


@dataclass
class Yard:
    """Holm is where everybody works; nobody but Wyn has a role at Weir."""

    holm: Depot
    weir: Depot
    people: dict[str, User] = field(default_factory=dict)

    @property
    def today(self) -> date:
        return timezone.localdate()

    def client(self, name: str) -> Client:
        client = Client()
        client.force_login(self.people[name], backend="django.contrib.auth.backends.ModelBackend")
        return client

    def htmx(self, name: str) -> Client:
        client = Client(headers={"HX-Request": "true"})
        client.force_login(self.people[name], backend="django.contrib.auth.backends.ModelBackend")
        return client

    def appoint(self, name: str, depot: Depot, role: str) -> User:
        user = self.people.get(name) or User.objects.create_user(name)
        self.people[name] = user
        with acting(CLERK) as act:
            act.create(Membership(user=user, depot=depot, role=role))
            act.tell(Deed.APPOINTED, [depot], note=f"{name} is {role}")
        return user

    def receive(self, tag: str, kind: str = "gauge", passed: bool = True, **details: Any) -> Item:
        """A new item; with `passed` each of its checks was passed yesterday."""
        values = {"depot": self.holm, **details}
        with acting(CLERK) as act:
            [item] = receive(act, [Item(tag=tag, kind=Kind.objects.get(name=kind), **values)])
        if passed:
            for check in Check.objects.in_force().filter(kind=item.kind):
                self.inspect(item, check.name)
        return Item.objects.get(pk=item.pk)

    def inspect(self, item: Item, check: str, verdict: str = "pass", days_ago: int = 1, by: str = "") -> None:
        done = self.today - timedelta(days=days_ago)
        found = Check.objects.get(kind=item.kind, name=check)
        with acting(Who(by, "test") if by else CLERK) as act:
            record(act, Finding(item, found, done, verdict, by=by, note=f"{verdict} found"))

    def arrangement(
        self, name: str = "two gauges", lines: Iterable[tuple[str, str, int]] = (("gauges", "gauge", 2),)
    ) -> Arrangement:
        with acting(CLERK) as act:
            specs = [LineSpec(line, Kind.objects.get(name=kind), n) for line, kind, n in lines]
            return set_arrangement(act, name, specs)[0]

    def plan(
        self, reference: str, arrangement: Arrangement, load_in: int = 0, days: int = 3, **details: Any
    ) -> Job:
        load_on = self.today + timedelta(days=load_in)
        job = Job(
            reference=reference,
            arrangement=arrangement,
            load_on=load_on,
            return_on=load_on + timedelta(days=days),
            **{"depot": self.holm, "site": "Weir Lane", **details},
        )
        with acting(CLERK) as act:
            return plan_job(act, job)

    def reserve(self, job: Job) -> None:
        with acting(CLERK) as act:
            reserve(act, job)

    def do(self, action: Any, *args: Any, who: str = "", **more: Any) -> Any:
        """Run an action as a person or as the register."""
        with acting(Who(who, "test") if who else CLERK) as act:
            return action(act, *args, **more)


def make_yard() -> Yard:
    with acting(CLERK) as act:
        found_register(act)
        holm, weir = depot_named(act, "Holm"), depot_named(act, "Weir")
    made = Yard(holm, weir)
    for name, role in PEOPLE.items():
        made.appoint(name, holm, role)
    made.appoint("wyn", weir, Role.STORES)
    return made
