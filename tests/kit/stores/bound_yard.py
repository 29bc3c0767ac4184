"""A depot whose jobs want bound kit: heads and bases of one mark, a bag mounted on its tube, a wide bag instead."""

from __future__ import annotations

from datetime import date, timedelta

from kit.models import Arrangement, Depot, Item, Job, Reservation
from kit.stores import (
    Act,
    Instead,
    LineSpec,
    Who,
    acting,
    bind_set,
    depot_named,
    plan_job,
    receive,
    set_arrangement,
    set_kind,
)

PLANNER = Who("p.lane", "test")


def day(offset: int) -> date:
    return date.today() + timedelta(days=offset)


def bound_yard(sets: bool = True) -> None:
    """Two bags on tubes are the sets PAIR 1 (B1, T1) and PAIR 2 (B2, T2); B9 and T9 are loose, W1 is a wide bag.

    Heads H1, H2 and bases S1, S2 are marked II, H3 and S3 are marked V.
    """
    with acting(PLANNER) as act:
        depot = depot_named(act, "NY")
        kinds = {name: set_kind(act, name) for name in ("bag", "tube", "head", "base")}
        kinds["wide bag"] = set_kind(act, "wide bag", turn_round_days=2)
        for name in ("head", "base"):
            kinds[name] = set_kind(act, name, has_mark=True)
        seal = set_kind(act, "seal", counted=True)
        marks = {"H1": "II", "H2": "ii", "H3": "V", "S1": "II", "S2": "II", "S3": "V"}
        names = {"B": "bag", "T": "tube", "W": "wide bag", "H": "head", "S": "base"}
        tags = ["B1", "B2", "B9", "T1", "T2", "T9", "W1", "H1", "H2", "H3", "S1", "S2", "S3"]
        made = receive(
            act,
            [Item(tag=tag, kind=kinds[names[tag[0]]], depot=depot, mark=marks.get(tag, "")) for tag in tags],
        )
        # What runs out first goes out first: the loose ones and the wide bag last.
        receive(act, [Item(tag="L1", kind=seal, depot=depot, quantity=10, use_by=day(90))])
        receive(act, [Item(tag="L0", kind=seal, depot=depot, quantity=3, use_by=day(60))])
        by_tag = {item.tag: item for item in made}
        if sets:
            for number in ("1", "2"):
                pair = [by_tag["B" + number], by_tag["T" + number]]
                bind_set(act, f"PAIR {number}", pair, "mounted together")
        set_arrangement(
            act,
            "stop",
            [
                LineSpec("bags", kinds["bag"], 1, instead=(Instead(kinds["wide bag"]),)),
                LineSpec("tubes", kinds["tube"], 1),
                LineSpec("heads", kinds["head"], 1, assembly="head unit"),
                LineSpec("bases", kinds["base"], 1, assembly="head unit"),
                LineSpec("seals", seal, 4),
            ],
        )
    assert not Reservation.objects.exists()


def a_job(act: Act, reference: str, first: int = 3, last: int = 5, **other: int) -> Job:
    arrangement = Arrangement.objects.get(name="stop", current=True)
    depot = Depot.objects.get(code="NY")
    return plan_job(
        act,
        Job(
            reference=reference,
            depot=depot,
            load_on=day(first),
            return_on=day(last),
            arrangement=arrangement,
            **other,
        ),
    )


def item(tag: str) -> Item:
    return Item.objects.get(tag=tag)


def standing(job: Job) -> dict[str, str]:
    """Tag -> standing of what is open on a job."""
    return dict(job.reservations.open().values_list("item__tag", "standing"))


def on_lines(job: Job) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    rows = job.reservations.holding().order_by("line__position", "item__tag")
    for line, tag in rows.values_list("line__name", "item__tag"):
        found.setdefault(line, []).append(tag)
    return found
