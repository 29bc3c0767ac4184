"""What the bench asks of the register: the checks of a piece, the gauges at a depot, usual pressures. Reads only."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from inspections.gauges import measures, ruled_checks
from inspections.judging import HoldLimits, JudgingFault, Unit
from inspections.limits import hold_limits
from inspections.models import Check, Due, Method
from kit.models import Custody, Item, State

MOST_GAUGES = 200


def checks_asked(item: Item) -> list[Check]:
    """The checks in force that are asked of this very item, by name."""
    of_kind = Check.objects.in_force().filter(kind=item.kind_id).select_related("kind").order_by("name")
    return [check for check in of_kind if check.is_asked_of(item)]


def due_check(item: Item) -> Check | None:
    """The check of the item to do first: one never done, else the one due soonest; None if it has none."""
    asked = {check.pk: check for check in checks_asked(item)}
    dues = Due.objects.filter(item=item, check_due__in=asked).values_list("check_due_id", "due_on")
    first = min(dues, key=lambda due: (due[1] or date.min, asked[due[0]].name), default=None)
    if first is not None:
        return asked[first[0]]
    return next(iter(asked.values()), None)


def hold_check(item: Item, name: str = "") -> Check | None:
    """The hold test asked of the item: of that name if it is one, else the one that is due first."""
    tests = [check for check in checks_asked(item) if check.method == Method.HOLD_TEST]
    named = [check for check in tests if check.name == name]
    first = due_check(item)
    return next((check for check in (*named, first, *tests) if check in tests), None)


def limits_now(check: Check) -> HoldLimits | None:
    """What the check asks of a hold test now; None if its limits cannot be read."""
    try:
        return hold_limits(check)
    except JudgingFault:
        return None


def usual_start(check: Check, unit: Unit) -> Decimal | None:
    """The greatest start pressure that the check allows, in `unit`, rounded down to what a dial shows."""
    limits = limits_now(check)
    most = limits.limit_in("max_pressure", unit) if limits else None
    if most is None:
        return None
    places = {"bar": 3, "psi": 2, "kPa": 1, "mbar": 0}[unit]
    scale = 10**places
    return (Decimal(int(Fraction(most.value) * scale)) / scale).normalize()


@dataclass(frozen=True, slots=True)
class Gauges:
    """The gauges that may be chosen at a depot."""

    items: list[Item]

    def named(self, pk: int | None) -> Item | None:
        return next((item for item in self.items if item.pk == pk), None)


def gauges_at(depots: Collection[int]) -> Gauges:
    """Available items of these depots, in the store, of kinds that measure: by tag."""
    items = Item.objects.filter(depot__in=depots, state=State.AVAILABLE, custody=Custody.STORE)
    kinds = dict(items.filter(counted=False).values_list("kind_id", "kind__name").distinct())
    ruled = ruled_checks(kinds)
    measuring = [pk for pk, name in kinds.items() if measures(name, ruled.get(pk, ()))]
    return Gauges(list(items.filter(kind__in=measuring).select_related("kind").order_by("tag")[:MOST_GAUGES]))


def is_gauge(item: Item) -> bool:
    """Whether tests may be read on items of this kind."""
    return measures(item.kind.name, ruled_checks([item.kind_id]).get(item.kind_id, ()))
