"""Checks of a small yard changed from a day on, and what then is due."""

from __future__ import annotations

from datetime import date

from inspections.actions import CheckSpec, set_checks
from inspections.due_list import due_list
from inspections.models import Check, CheckVersion, Due
from kit.models import Item, Reservation, Standing
from kit.stores import (
    Who,
    acting,
)
from tests.kit.views.yard import STORES, kind

LEAD = Who("c.lead", "test")


def hold(interval: str = "P6M", **more) -> CheckSpec:
    return CheckSpec("hold test", interval, **more)


def change(*specs: CheckSpec, of: str = "bag", **more) -> bool:
    with acting(LEAD) as act:
        return set_checks(act, kind(of), specs, **more)


def the_check(name: str = "hold test", of: str = "bag") -> Check:
    return Check.objects.get(kind=kind(of), name=name)


def versions(name: str = "hold test", of: str = "bag") -> list[tuple[int, date, str, bool]]:
    rows = CheckVersion.objects.filter(of=the_check(name, of)).order_by("number")
    return [(row.number, row.in_force_from, row.interval, row.retired) for row in rows]


def bag(tag: str = "NY-B1") -> Item:
    return Item.objects.select_related("kind").get(tag=tag)


def due(name: str = "hold test", tag: str = "NY-B1") -> Due | None:
    return Due.objects.filter(item__tag=tag, check_due__name=name).first()


def any_act() -> None:
    with acting(STORES):
        pass


def held(job, standing: str = Standing.PROMISED) -> int:
    return Reservation.objects.filter(job=job, item__kind=kind("bag"), standing=standing).count()


def overdue_names(day: date) -> set[str]:
    return {entry.check for entry in due_list(day) if entry.tag == "NY-B1"}
