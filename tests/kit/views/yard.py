"""An invented yard to test screens and papers on: two depots, kit, checks, one job and one person a role."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from inspections.actions import CheckSpec, Finding, record_many, set_checks
from inspections.models import Check
from kit.models import Arrangement, Deed, Depot, Item, Job, Kind, Place, Role
from kit.stores import (
    Act,
    LineSpec,
    Who,
    acting,
    found_register,
    place_named,
    plan_job,
    receive,
    set_arrangement,
)
from kit.stores.appoint import appoint

STORES = Who("w.hollis", "test")


@dataclass
class Yard:
    """`today` is the register's day. Bags NY-B1 and on suit 150 to 180 mm; NY-B9 neither suits nor lasts."""

    today: date
    north: Depot
    mill: Depot
    job: Job
    arrangement: Arrangement

    def item(self, tag: str) -> Item:
        return Item.objects.select_related("kind", "depot", "place").get(tag=tag)


def in_days(days: int) -> date:
    return timezone.localdate() + timedelta(days=days)


def kind(name: str) -> Kind:
    return Kind.objects.get(name=name)


def record_checks(act: Act, items: Iterable[Item], days_ago: int = 10, verdict: str = "pass") -> None:
    """Record every check of these items as done so many days ago."""
    checks: dict[int, list[Check]] = {}
    for check in Check.objects.in_force():
        checks.setdefault(check.kind_id, []).append(check)
    record_many(
        act,
        [
            Finding(item, check, act.today - timedelta(days=days_ago), verdict, by="a.bench")
            for item in items
            for check in checks.get(item.kind_id, [])
        ],
    )


def yard(bags: int = 5) -> Yard:
    """Build it, all through the store's own actions. The job needs 4 bags, 2 bases of mark M3 and 6 seals."""
    today = timezone.localdate()
    with acting(STORES) as act:
        found_register(act)
        north = act.create(Depot(code="NY", name="North yard"))
        mill = act.create(Depot(code="MB", name="Mill bank"))
        act.tell(Deed.CHANGED, [north, mill], note="depots set up")
        cage, rack = place_named(act, north, "Cage 1"), place_named(act, north, "Rack 2")
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P6M")])
        set_checks(act, kind("base"), [CheckSpec("inspection", "P12M")])
        made = receive(act, [*_bags(north, rack, bags), *_bases(north, cage), *_seals(north, cage)])
        record_checks(act, [item for item in made if not item.counted])
        arrangement, _ = set_arrangement(
            act,
            "small flow stop",
            [
                LineSpec("bags", kind("bag"), 4, "bore"),
                LineSpec("bases", kind("base"), 2, "mark"),
                LineSpec("seals", kind("seal"), 6),
            ],
        )
        job = plan_job(act, job_of(north, arrangement, "J/26-104"))
    return Yard(today, north, mill, job, arrangement)


def job_of(depot: Depot, arrangement: Arrangement, reference: str, load: int = 7, back: int = 12) -> Job:
    """A job that loads and is back so many days from today."""
    return Job(
        reference=reference,
        depot=depot,
        site="Weir Lane",
        load_on=in_days(load),
        return_on=in_days(back),
        main_material="PE",
        main_size="180",
        main_sdr="17",
        bore_mm=Decimal("159.6"),
        base_mark="M3",
        arrangement=arrangement,
    )


def bag(depot: Depot, tag: str, place: Place | None = None, **other: Any) -> Item:
    details: dict[str, Any] = {
        "maker": "Anvil & Sons",
        "serial": f"S-{tag}",
        "bore_min_mm": Decimal(150),
        "bore_max_mm": Decimal(180),
        "use_by": in_days(900),
        **other,
    }
    return Item(tag=tag, kind=kind("bag"), depot=depot, place=place, **details)


def _bags(depot: Depot, place: Place, number: int) -> list[Item]:
    good = [bag(depot, f"NY-B{n}", place) for n in range(1, number + 1)]
    return [
        *good,
        bag(depot, "NY-B9", place, use_by=in_days(9), bore_min_mm=Decimal(200), bore_max_mm=Decimal(250)),
    ]


def _bases(depot: Depot, place: Place) -> list[Item]:
    return [
        Item(
            tag=f"NY-S{n}",
            kind=kind("base"),
            depot=depot,
            place=place,
            maker="Anvil & Sons",
            serial=str(n),
            mark=m,
        )
        for n, m in ((1, "M3"), (2, "M3"), (3, "M7"))
    ]


def _seals(depot: Depot, place: Place) -> list[Item]:
    return [Item(tag="LOT-7", kind=kind("seal"), depot=depot, place=place, quantity=20, use_by=in_days(400))]


def person(role: str, *depots: Depot, name: str = "") -> User:
    """A user who holds the role at these depots."""
    user, _ = User.objects.get_or_create(username=name or f"the.{role}")
    for depot in depots:
        with acting(STORES) as act:
            appoint(act, user, depot, role)
    return user


def seat(role: str, *depots: Depot, name: str = "") -> Client:
    """A browser in which that person is signed in."""
    client = Client()
    client.force_login(person(role, *depots, name=name))
    return client


def record_as_seen(client: Client, address: str, data: dict[str, Any]) -> Any:
    """Look at what a change brings, then record it as it was shown; the page that follows."""
    foreseen = client.post(address, data).context["foreseen"]
    return client.post(address, {**data, "seen": foreseen.seen}, follow=True)


EVERY_ROLE = tuple(Role.values)
