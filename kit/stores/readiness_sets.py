"""The sets of the register as stock for readiness: their members one by one, for there are few. Reads only."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from django.db.models.expressions import RawSQL

from kit.models import Item, Reservation
from kit.planning.readiness_sets import Member, SetStock, set_stock
from kit.planning.readiness_stock import held_days

if TYPE_CHECKING:
    from kit.stores.readiness import Question


def sets_in(question: Question) -> Iterator[SetStock]:
    """The sets of which every member, whatever its kind and state, could load on some of the days."""
    # Written out and not handed in, or SQLite does not see that its index of sets has all that is asked for.
    of_sets = Item.objects.exclude(set_name=RawSQL("''", ()))
    number = Counter(of_sets.values_list("depot_id", "set_name").order_by())
    # Most registers have none, and then the items need not be gone through.
    if not number:
        return
    items = question.in_date(question.items(counted=False, of_sets=True))
    rows = list(items.values_list("pk", "depot_id", "set_name", *question.keys).order_by())
    promised: dict[int, list[tuple[date, date]]] = defaultdict(list)
    held = Reservation.objects.holding().filter(item__in=items.values("pk"), counted=False)
    for item_id, starts, ends in held.values_list("item_id", "starts", "ends").order_by():
        promised[item_id].append((starts, ends))
    members: dict[tuple[int, str], list[Member]] = defaultdict(list)
    for pk, depot, name, *values in rows:
        stock = question.stock_like(values, 1)
        turn_round = question.slack[stock.kind].turn_round_days
        days = tuple(held_days(promised[pk], turn_round))
        members[depot, name].append(Member(stock.depot, stock.alike, stock.first, stock.last, days))
    for key, listed in members.items():
        if len(listed) == number[key]:
            yield from set_stock(listed)
