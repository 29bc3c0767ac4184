"""A store small enough to be lived at random: two depots, three kinds, two arrangements, no shipped ones."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from inspections.actions import CheckSpec, Finding, record_many, set_checks
from inspections.models import Check
from kit.models import Arrangement, Depot, Item, Job, Kind
from kit.stores import (
    Act,
    LineSpec,
    Who,
    acting,
    depot_named,
    place_named,
    plan_job,
    receive,
    reserve,
    set_arrangement,
    set_kind,
)

FOUNDER = Who("o.founder", "test")
CLOSE, WIDE = "one side", "both sides"


def build(today: date) -> None:
    """Kit of which some suits, some is due soon and some never did suit; two jobs that are reserved."""
    with acting(FOUNDER) as act:
        north, mill = depot_named(act, "NY"), depot_named(act, "MB")
        bag = set_kind(act, "bag", has_bore=True, has_use_by=True, check_after_use=True)
        base = set_kind(act, "base", has_mark=True)
        seal = set_kind(act, "seal", counted=True)
        set_checks(act, bag, [CheckSpec("hold test", "P6M"), CheckSpec("visual", "P3M", gates=False)])
        set_checks(act, base, [CheckSpec("inspection", "P1Y", basis="anchor", early_days=14)])
        rack = place_named(act, north, "Rack 1")
        made = receive(act, [*_bags(bag, north, mill, today), *_bases(base, north, mill)])
        receive(act, [_lot("LOT-1", seal, north, 9), _lot("LOT-2", seal, north, 4, place=rack)])
        _first_checks(act, made, today)
        _arrangements(act, bag, base, seal)
        for reference, load, back in (("J1", 2, 5), ("J2", 8, 11)):
            arrangement = Arrangement.objects.get(name=CLOSE, current=True)
            days = today + timedelta(days=load), today + timedelta(days=back)
            reserve(act, plan_job(act, new_job(reference, north, arrangement, *days)))


def _bags(bag: Kind, north: Depot, mill: Depot, today: date) -> list[Item]:
    def one(tag: str, depot: Depot = north, low: int = 150, high: int = 180, last: int | None = None) -> Item:
        use_by = None if last is None else today + timedelta(days=last)
        return Item(
            tag=tag,
            kind=bag,
            depot=depot,
            maker="Anvil & Sons",
            serial=f"S-{tag}",
            bore_min_mm=Decimal(low),
            bore_max_mm=Decimal(high),
            use_by=use_by,
        )

    return [
        one("B1"),
        one("B2"),
        one("B3", last=12),
        one("B4", low=140),
        one("B5", low=180, high=250),
        one("B6", mill),
    ]


def _bases(base: Kind, north: Depot, mill: Depot) -> list[Item]:
    return [
        Item(tag=tag, kind=base, depot=depot, mark=mark, maker="Anvil & Sons", serial=tag)
        for tag, depot, mark in (
            ("S1", north, "M3"),
            ("S2", north, "M3"),
            ("S3", north, "M7"),
            ("S4", mill, "M3"),
        )
    ]


def _lot(tag: str, seal: Kind, depot: Depot, quantity: int, **other: Any) -> Item:
    return Item(tag=tag, kind=seal, depot=depot, quantity=quantity, **other)


def _first_checks(act: Act, items: list[Item], today: date) -> None:
    """All passed, the last bag and the last base longest ago, so that they fall due within a few weeks."""
    checks = list(Check.objects.in_force())
    ago = {"B2": 170, "S2": 345}
    record_many(
        act,
        [
            Finding(item, check, today - timedelta(days=ago.get(item.tag, 20)), "pass", by="o.founder")
            for item in items
            for check in checks
            if check.kind_id == item.kind_id
        ],
    )


def _arrangements(act: Act, bag: Kind, base: Kind, seal: Kind) -> None:
    set_arrangement(
        act,
        CLOSE,
        [LineSpec("bags", bag, 2, "bore"), LineSpec("bases", base, 1, "mark"), LineSpec("seals", seal, 3)],
    )
    set_arrangement(
        act,
        WIDE,
        [
            LineSpec("bags", bag, 3, "bore"),
            LineSpec("bases", base, 2, "mark"),
            LineSpec("vent base", base, 1),
            LineSpec("seals", seal, 4),
            LineSpec("spare seals", seal, 2),
        ],
    )


def new_job(reference: str, depot: Depot, arrangement: Arrangement, load_on: date, return_on: date) -> Job:
    return Job(
        reference=reference,
        depot=depot,
        site="Weir Lane",
        load_on=load_on,
        return_on=return_on,
        bore_mm=Decimal(160),
        base_mark="M3",
        arrangement=arrangement,
    )
