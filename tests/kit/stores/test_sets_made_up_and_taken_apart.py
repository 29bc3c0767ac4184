"""Pieces are made up into a set and taken apart in one act each; what cannot be a set is refused with why."""

from __future__ import annotations

import json
from typing import Any

import pytest

from kit.models import Deed, Item, LedgerEntry, Standing
from kit.stores import (
    Load,
    NotAllowed,
    Who,
    acting,
    arrive,
    bind_set,
    issue_piece,
    lose,
    mates_of,
    plan_job,
    prove_ledger,
    quarantine,
    reserve,
    send,
    send_all,
    unbind_set,
    withdraw,
)
from tests.kit.views.yard import Yard, in_days, job_of, yard

pytestmark = pytest.mark.django_db

STORES = Who("w.hollis", "test")


@pytest.fixture
def made() -> Yard:
    return yard()


def do(action: Any, *args: Any) -> Any:
    with acting(STORES) as act:
        return action(act, *args)


def refusal(action: Any, *args: Any) -> str:
    before = LedgerEntry.objects.count()
    with pytest.raises(NotAllowed) as said:
        do(action, *args)
    assert LedgerEntry.objects.count() == before
    proved()
    return str(said.value)


def proved() -> None:
    assert prove_ledger().fault is None


def of(made: Yard, *tags: str) -> list[Item]:
    return [made.item(tag) for tag in tags]


def sets() -> dict[str, str]:
    return dict(Item.objects.exclude(set_name="").order_by("tag").values_list("tag", "set_name"))


def bound() -> list[dict[str, Any]]:
    return [json.loads(e.body) for e in LedgerEntry.objects.filter(deed=Deed.BOUND).order_by("number")]


def test_made_up_in_one_act_that_the_ledger_tells(made: Yard) -> None:
    do(bind_set, " Weir  set ", of(made, "NY-B2", "NY-B1", "NY-S1", "NY-B1"), "mounted for Weir Lane")
    assert sets() == dict.fromkeys(["NY-B1", "NY-B2", "NY-S1"], "Weir set")
    [told] = bound()
    assert told["about"] == ["depot:NY", "item:NY-B1", "item:NY-B2", "item:NY-S1"]
    assert told["note"] == "set Weir set made up of NY-B2, NY-B1, NY-S1: mounted for Weir Lane"
    assert [mate.tag for mate in mates_of(made.item("NY-B1"))] == ["NY-B2", "NY-S1"]
    assert mates_of(made.item("NY-B3")) == []
    proved()


def test_it_grows_only_as_a_whole(made: Yard) -> None:
    do(bind_set, "Weir set", of(made, "NY-B1", "NY-B2"), "mounted")
    said = refusal(bind_set, "Weir set", of(made, "NY-B3", "NY-B4"), "mounted")
    assert "North yard has a set Weir set already, of NY-B1, NY-B2" in said
    assert "of NY-B1, NY-B2" in refusal(bind_set, "weir SET", of(made, "NY-B3", "NY-B4"), "mounted")
    do(bind_set, "Weir set", of(made, "NY-B1", "NY-B2", "NY-B3"), "a third bag")
    assert list(sets()) == ["NY-B1", "NY-B2", "NY-B3"]
    do(bind_set, "Weir set", of(made, "NY-B1", "NY-B2", "NY-B3"), "nothing new")
    assert len(bound()) == 2
    said = refusal(bind_set, "Other", of(made, "NY-B1", "NY-B4"), "mounted")
    assert "NY-B1 is of the set Weir set already: take it out of that one first" in said
    proved()


def test_what_cannot_be_made_up_is_refused_with_why(made: Yard) -> None:
    pair = of(made, "NY-B1", "NY-B2")
    assert "Give the set a name" in refusal(bind_set, "  ", pair, "mounted")
    assert "61 characters, and 60 is the most" in refusal(bind_set, "x" * 61, pair, "mounted")
    assert "Say why the set Weir is made up" in refusal(bind_set, "Weir", pair, " ")
    assert "two pieces or more" in refusal(bind_set, "Weir", of(made, "NY-B1", "NY-B1"), "mounted")
    lot = Item.objects.filter(counted=True).first()
    assert lot is not None
    assert "only single pieces make up the set Weir" in refusal(bind_set, "Weir", [*pair, lot], "mounted")
    do(withdraw, made.item("NY-B3"), "torn")
    assert "NY-B3 is withdrawn: leave it out" in refusal(bind_set, "Weir", of(made, "NY-B1", "NY-B3"), "m")
    do(lose, made.item("NY-B4"), "not on its rack")
    assert "NY-B4 is lost: leave it out" in refusal(bind_set, "Weir", of(made, "NY-B1", "NY-B4"), "m")
    do(send, made.item("NY-B5"), made.mill, in_days(1))
    assert "NY-B5 is in transit" in refusal(bind_set, "Weir", of(made, "NY-B1", "NY-B5"), "m")


def test_pieces_of_two_depots_are_no_set(made: Yard) -> None:
    do(send, made.item("NY-B5"), made.mill, in_days(0))
    with acting(Who("m.orr", "test")) as act:
        arrive(act, made.item("NY-B5"))
    said = refusal(bind_set, "Weir", of(made, "NY-B1", "NY-B5"), "mounted")
    assert "NY-B1 is at North yard and NY-B5 at Mill bank: a set stands in one depot" in said


def test_pieces_of_different_jobs_or_out_on_site_are_no_set(made: Yard) -> None:
    do(reserve, made.job)
    other = do(plan_job, job_of(made.north, made.arrangement, "J-other"))
    do(reserve, other)
    of_other = other.reservations.filter(item__kind__name="bag", standing=Standing.PROMISED).first()
    mine = made.job.reservations.filter(item__kind__name="bag").first()
    said = refusal(bind_set, "Weir", [mine.item, of_other.item], "mounted")
    assert f"{mine.item} is promised to J/26-104 and {of_other.item} to J-other" in said
    do(issue_piece, made.job, mine.item)
    base = made.job.reservations.filter(item__kind__name="base").first()
    said = refusal(bind_set, "Weir", [mine.item, base.item], "mounted")
    assert f"{mine.item} is on site: take it back before it is made up into the set Weir" in said


def test_taken_apart_whole_or_by_pieces(made: Yard) -> None:
    do(bind_set, "Weir set", of(made, "NY-B1", "NY-B2", "NY-B3"), "mounted")
    assert "Say why" in refusal(unbind_set, of(made, "NY-B1"), "")
    assert "NY-B4 is of no set" in refusal(unbind_set, of(made, "NY-B1", "NY-B4"), "one goes")
    do(unbind_set, of(made, "NY-B1"), "skirt worn")
    assert list(sets()) == ["NY-B2", "NY-B3"]
    assert bound()[-1]["note"] == "taken out of the set Weir set: NY-B1; skirt worn"
    left = do(unbind_set, of(made, "NY-B2"), "done with")
    assert sorted(item.tag for item in left) == ["NY-B2", "NY-B3"]
    assert sets() == {}
    assert bound()[-1]["note"] == "set Weir set taken apart: NY-B2, NY-B3; done with"
    proved()


def test_a_lost_piece_leaves_its_set_and_what_is_set_aside_may_stay(made: Yard) -> None:
    do(bind_set, "Weir set", of(made, "NY-B1", "NY-B2", "NY-B3"), "mounted")
    do(lose, made.item("NY-B1"), "left on site")
    do(quarantine, made.item("NY-B2"), "torn skirt")
    assert "NY-B1 is lost: take it out of its set first" in refusal(
        bind_set, "Weir set", of(made, "NY-B1", "NY-B2", "NY-B3", "NY-B4"), "another bag"
    )
    do(unbind_set, of(made, "NY-B1"), "lost")
    assert list(sets()) == ["NY-B2", "NY-B3"]
    proved()


def test_what_is_out_stays_in_its_set_until_it_is_back(made: Yard) -> None:
    do(bind_set, "Weir set", of(made, "NY-B1", "NY-B2"), "mounted")
    do(send_all, [Load(item) for item in of(made, "NY-B1", "NY-B2")], made.mill, in_days(1))
    said = refusal(unbind_set, of(made, "NY-B1"), "one goes")
    assert "NY-B1 is in transit" in said
