"""Pieces made up into sets and taken out of them, as rules of the life of a store, and what must hold of bound kit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from hypothesis.stateful import initialize, rule

from kit import stores
from kit.models import Depot, Item, Kind
from kit.stores import Act, Instead
from kit.stores.arrange import LineSpec, set_arrangement
from kit.stores.sets import bind_set, unbind_set
from tests.kit.stores import small_store
from tests.kit.stores.lived import nth, people
from tests.kit.stores.reckoning import HOLDING, Reckoning

NAMES = ("PAIR", "TRIO")
UNIT = "base unit"


def bind_the_arrangement(act: Act, today: date) -> None:
    """What closes one side asks from now on for two bases of one mark, and takes a sleeve where no bag will do; two
    jobs want it.
    """
    bag, base, seal = (Kind.objects.get(name=name) for name in ("bag", "base", "seal"))
    sleeve = stores.set_kind(act, "sleeve", has_bore=True, turn_round_days=1)
    north = Depot.objects.get(code="NY")
    bores = {"bore_min_mm": 100, "bore_max_mm": 200}
    stores.receive(act, [Item(tag=tag, kind=sleeve, depot=north, **bores) for tag in ("W1", "W2")])
    lines = [
        LineSpec("bags", bag, 2, "bore", instead=(Instead(sleeve),)),
        LineSpec("bases", base, 1, assembly=UNIT),
        LineSpec("vent base", base, 1, assembly=UNIT),
        LineSpec("seals", seal, 3),
    ]
    made, _new = set_arrangement(act, small_store.CLOSE, lines)
    for reference, load, back in (("J3", 6, 7), ("J4", 13, 15)):
        days = today + timedelta(days=load), today + timedelta(days=back)
        stores.reserve(act, stores.plan_job(act, small_store.new_job(reference, north, made, *days)))


class LifeOfSets:
    """Rules that a life of a store takes in; `act` and `item` are the life's."""

    if TYPE_CHECKING:

        def act(self, person: str, do: Callable[[Act], Any]) -> Any: ...
        def item(self, n: int, old: bool = False, **which: Any) -> Any: ...

    @initialize(picked=st.sets(nth, max_size=3))
    def first_set(self, picked: set[int]) -> None:
        self.make_up_a_set("b.stores", NAMES[0], sorted(picked), old=False, whole=True)

    @rule(
        person=people,
        name=st.sampled_from([*NAMES, *NAMES, ""]),
        picked=st.lists(nth, min_size=1, max_size=3),
        old=st.sampled_from([False, False, False, True]),
        whole=st.booleans(),
    )
    def make_up_a_set(self, person: str, name: str, picked: list[int], old: bool, whole: bool) -> None:
        """Of what lies at one depot as a rule; to a set that there is, all that are of it are scanned (`whole`)."""
        items = [self.item(n, old, counted=False, depot_id=_depot()) for n in picked]
        if whole:
            items += Item.objects.filter(set_name=name, depot_id=_depot()).exclude(set_name="")
        self.act(person, lambda act: bind_set(act, name, items, "mounted together"))

    @rule(person=people, n=nth, why=st.sampled_from(["a piece was torn", "a piece was torn", ""]))
    def take_a_set_apart(self, person: str, n: int, why: str) -> None:
        bound = Item.objects.exclude(set_name="").order_by("tag")
        items = [bound[n % len(bound)]] if bound else [self.item(n)]
        self.act(person, lambda act: unbind_set(act, items, why))

    @rule(person=people, n=nth, mark=st.sampled_from(["M3", "m3", "M7", "M9"]))
    def a_mark_is_read_again(self, person: str, n: int, mark: str) -> None:
        bases = Item.objects.filter(kind__name="base").order_by("tag")
        base = bases[n % len(bases)]
        self.act(person, lambda act: stores.change_details(act, base, "read again", mark=mark))


def _depot() -> int:
    return Depot.objects.get(code="NY").pk


def bound_faults(now: Reckoning) -> Iterator[str]:
    """Sets of one piece, and sets that a job holds in part."""
    sets = Counter((item["depot_id"], item["set_name"]) for item in now.tables["item"] if item["set_name"])
    yield from (f"the set {name} is one piece" for (_, name), n in sets.items() if n < 2)
    for job in now.tables["job"]:
        held = [row for row in now.with_standing(*HOLDING, "returned") if row["job_id"] == job["id"]]
        on_job = {row["item_id"] for row in held}
        for row in held:
            item = now.item_of(row)
            away = [mate["tag"] for mate in now.mates_of(item) if mate["id"] not in on_job]
            if row["standing"] == "promised" and away:
                yield f"{item['tag']} of a set is promised to {job['reference']} without {', '.join(away)}"
