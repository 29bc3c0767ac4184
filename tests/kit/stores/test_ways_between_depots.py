"""Ways between depots and what a bench does in a day are settings that the ledger tells of."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from kit.models import Deed, Depot, DepotLink, LedgerEntry
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    depot_named,
    name_depot,
    prove_ledger,
    set_bench,
    set_link,
    usual_arrival,
    withdraw_link,
)

pytestmark = pytest.mark.django_db
WHO = Who("p.lane", "test")


def do(action: Any, *args: Any) -> Any:
    with acting(WHO) as act:
        return action(act, *args)


@pytest.fixture
def depots() -> tuple[Depot, Depot]:
    return do(depot_named, "NY"), do(depot_named, "MB")


def facts() -> dict[str, Any]:
    return json.loads(LedgerEntry.objects.filter(deed=Deed.LINKED).latest("number").body)["facts"]


def test_a_way_is_of_one_direction_and_says_when_a_transfer_is_there(depots: tuple[Depot, Depot]) -> None:
    north, mill = depots
    assert do(set_link, north, mill, 2)
    assert facts() == {"lead_days": 2, "before": None}
    assert not do(set_link, north, mill, 2)
    assert usual_arrival(north, mill, date(2027, 2, 27)) == date(2027, 3, 1)
    assert usual_arrival(mill, north, date(2027, 2, 27)) is None
    assert do(set_link, north, mill, 0)
    assert facts() == {"lead_days": 0, "before": 2}
    assert usual_arrival(north, mill, date(2027, 2, 27)) == date(2027, 2, 27)
    assert prove_ledger().fault is None


def test_a_way_that_is_withdrawn_counts_no_more_and_stays_in_the_book(depots: tuple[Depot, Depot]) -> None:
    north, mill = depots
    do(set_link, north, mill, 2)
    do(withdraw_link, north, mill, "the bridge is closed")
    assert not DepotLink.objects.exists()
    assert usual_arrival(north, mill, date(2027, 1, 1)) is None
    assert [(link.lead_days, link.withdrawn) for link in DepotLink.ever.all()] == [(2, True)]
    assert prove_ledger().fault is None
    assert do(set_link, north, mill, 2)
    assert facts() == {"lead_days": 2, "before": None}
    assert prove_ledger().fault is None


def test_what_is_no_way_is_refused(depots: tuple[Depot, Depot]) -> None:
    north, mill = depots
    for args, why in (
        ((set_link, north, north, 1), "leads from one depot to another"),
        ((set_link, north, mill, -1), "give a whole number from 0 to 60"),
        ((set_link, north, mill, 61), "give a whole number from 0 to 60"),
        ((withdraw_link, north, mill, "shut"), "there is none to withdraw"),
        ((set_bench, north, -1), "give a number from 0"),
    ):
        with pytest.raises(NotAllowed, match=why):
            do(*args)
    do(set_link, north, mill, 1)
    with pytest.raises(NotAllowed, match="Say why"):
        do(withdraw_link, north, mill, " ")
    sql = (
        "INSERT INTO kit_depotlink (from_depot_id, to_depot_id, lead_days, withdrawn) VALUES (%s, %s, 1, %s)"
    )
    for pair, constraint in (
        ((north, north), "link_joins_two_depots"),
        ((north, mill), "one_link|UNIQUE|unique"),
    ):
        with (
            pytest.raises(IntegrityError, match=constraint),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(sql, [pair[0].pk, pair[1].pk, False])


def test_the_bench_and_the_name_of_a_depot(depots: tuple[Depot, Depot]) -> None:
    north, _ = depots
    assert do(set_bench, north, 6)
    assert not do(set_bench, Depot.objects.get(pk=north.pk), 6)
    assert do(name_depot, north, "North yard")
    kept = Depot.objects.get(pk=north.pk)
    assert (kept.bench_a_day, str(kept)) == (6, "North yard")
    assert prove_ledger().fault is None
