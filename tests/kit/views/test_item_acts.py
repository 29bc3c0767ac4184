"""What can be done with one item from its page: by whom, with what reason, and what a refusal leaves as it was."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from kit.models import Custody, Item, LedgerEntry, Place, Role, State
from kit.stores import finish_issue, issue_piece, lose, prove_ledger, quarantine, send, withdraw
from tests.kit.views.holm import Yard


@pytest.fixture
def gauge(yard: Yard) -> Item:
    return yard.receive("G-1", maker="Pell", serial="88-1")


def act(yard: Yard, name: str, who: str = "sal", tag: str = "G-1", **sent: object):
    return yard.client(who).post(reverse("item_act", args=[name, tag]), sent, follow=True)


def now(tag: str = "G-1") -> Item:
    return Item.objects.get(tag=tag)


def offered(yard: Yard, who: str, tag: str = "G-1") -> set[str]:
    return {one.name for one in yard.client(who).get(reverse("item", args=[tag])).context["acts"]}


@pytest.mark.parametrize(
    ("name", "who", "state"),
    [
        ("set-aside", "cal", State.QUARANTINED),
        ("lost", "sal", State.LOST),
        ("withdraw", "lee", State.WITHDRAWN),
    ],
)
def test_an_item_changes_state_with_a_reason(yard: Yard, gauge: Item, name: str, who: str, state: str):
    refused = act(yard, name, who, why="  ").content.decode()
    assert "notice--refused" in refused
    assert now().state == State.AVAILABLE
    done = act(yard, name, who, why="needle sticks")
    assert done.redirect_chain[-1][0] == reverse("item", args=["G-1"])
    assert (now().state, now().state_why, now().state_by) == (state, "needle sticks", who)
    assert LedgerEntry.objects.order_by("-number").first().source == "item screen"
    assert prove_ledger().fault is None


def test_a_lost_item_found_again_goes_to_quarantine(yard: Yard, gauge: Item):
    yard.do(lose, gauge, "not on its hook")
    assert "found-again" in offered(yard, "cal")
    act(yard, "found-again", "cal", why="behind the vent stacks")
    assert now().state == State.QUARANTINED
    assert "behind the vent stacks" in now().state_why


def test_only_what_makes_sense_is_offered_and_only_to_whom_it_is_for(yard: Yard, gauge: Item):
    assert offered(yard, "sal") == {"set-aside", "send", "change", "bind", "lost", "withdraw"}
    assert offered(yard, "cal") == {"set-aside", "lost"}
    assert offered(yard, "eve") == {"set-aside", "lost"}
    assert offered(yard, "lee") == {"set-aside", "change", "lost", "withdraw"}
    assert offered(yard, "pat") == set()
    yard.do(withdraw, gauge, "worn out")
    assert offered(yard, "sal") == set()
    yard.receive("SEAL-7", kind="seal", quantity=5)
    assert "count" in offered(yard, "sal", "SEAL-7")
    assert "send" not in offered(yard, "sal", "SEAL-7")


def test_a_page_grown_old_is_refused_and_keeps_what_was_typed(yard: Yard, gauge: Item):
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.reserve(job)
    yard.do(issue_piece, job, gauge)
    yard.do(finish_issue, job)
    page = act(yard, "withdraw", why="worn since spring").content.decode()
    assert "take it back before it is withdrawn" in page
    assert "worn since spring" in page
    assert now().state == State.AVAILABLE


def test_an_item_goes_to_another_depot_with_two_signatures(yard: Yard, gauge: Item):
    arrives = yard.today + timedelta(days=2)
    assert (
        "is past"
        in act(
            yard, "send", to="Weir", arrives_on=(yard.today - timedelta(days=1)).isoformat()
        ).content.decode()
    )
    assert yard.client("wyn").get(reverse("item", args=["G-1"])).status_code == 404
    act(yard, "send", to="Weir", arrives_on=arrives.isoformat())
    assert (now().custody, now().transit_to, now().arrives_on) == (Custody.IN_TRANSIT, yard.weir, arrives)
    # Wyn at Weir now sees it coming, though it still belongs to Holm, and may do nothing else with it.
    assert offered(yard, "wyn") == {"take-in"}
    assert offered(yard, "sal") == {"set-aside", "change", "lost"}
    assert act(yard, "take-in", "sal").status_code == 403
    yard.appoint("sal", yard.weir, Role.STORES)
    assert "You sent G-1: somebody else must sign" in act(yard, "take-in", "sal").content.decode()
    act(yard, "take-in", "wyn")
    assert (now().custody, now().depot) == (Custody.STORE, yard.weir)
    assert prove_ledger().fault is None


def test_an_item_is_not_sent_where_it_is(yard: Yard, gauge: Item):
    page = act(yard, "send", to="Holm", arrives_on=yard.today.isoformat()).content.decode()
    assert "notice--refused" in page
    assert now().custody == Custody.STORE


def test_a_lot_is_counted(yard: Yard):
    yard.receive("SEAL-7", kind="seal", quantity=5)
    assert "notice--refused" in act(yard, "count", tag="SEAL-7", quantity="-1").content.decode()
    act(yard, "count", tag="SEAL-7", quantity="3", why="two gone hard")
    assert now("SEAL-7").quantity == 3
    assert "notice--refused" in act(yard, "count", tag="SEAL-7", quantity="many").content.decode()


def shown(yard: Yard) -> dict[str, str]:
    """What the change form shows, and what it showed, as a browser would send it back."""
    form = yard.client("sal").get(reverse("item_act", args=["change", "G-1"])).context["form"]
    values = {name: form[name].value() or "" for name in form.fields}
    return {**values, **{f"initial-{name}": value for name, value in values.items()}}


def test_details_are_changed_and_the_ledger_says_from_what_to_what(yard: Yard, gauge: Item):
    sent = {**shown(yard), "mark": "M3", "place": "Rack 4", "use_by": "03/2030", "note": "new glass"}
    act(yard, "change", **sent)
    item = now()
    assert (item.mark, item.place.name, item.note) == ("M3", "Rack 4", "new glass")
    assert (item.use_by.isoformat(), item.use_by_precision, item.use_by_text) == (
        "2030-03-31",
        "month",
        "03/2030",
    )
    assert item.maker == "Pell"
    page = yard.client("sal").get(reverse("item", args=["G-1"])).content.decode()
    assert "mark from nothing to m3" in page.lower()
    assert Place.objects.get(name="Rack 4").depot == yard.holm
    assert prove_ledger().fault is None


def test_two_people_changing_at_once_do_not_undo_each_other(yard: Yard, gauge: Item):
    first = {**shown(yard), "note": "new glass"}
    second = {**shown(yard), "batch": "B7"}
    act(yard, "change", **first)
    act(yard, "change", **second)
    assert (now().note, now().batch) == ("new glass", "B7")


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"use_by": "3/94"}, "ambiguous"),
        ({"use_by": "31/02/2030"}, "There is no day 31"),
        ({"bore_min_mm": "200", "bore_max_mm": "150"}, "exchange the two"),
        ({"bore_min_mm": "200"}, "two ends"),
        ({"made_on": "2999-01-01"}, "cannot be right"),
        ({"made_on": "01/02/2031", "use_by": "01/02/2030"}, "in the future"),
        ({"serial": "88-2"}, "G-2 is a gauge with this maker and serial already"),
        ({"note": "x" * 501}, "at most 500"),
    ],
)
def test_details_that_cannot_be_are_refused_at_their_field(yard: Yard, gauge: Item, wrong: dict, why: str):
    yard.receive("G-2", maker="Pell", serial="88-2")
    page = act(yard, "change", **{**shown(yard), **wrong}).content.decode()
    assert "notice--refused" in page
    assert why in page
    assert (now().use_by, now().bore_min_mm, now().serial) == (None, None, "88-1")


def test_a_bore_range_is_kept_to_the_thousandth(yard: Yard, gauge: Item):
    act(yard, "change", **{**shown(yard), "bore_min_mm": "165.205", "bore_max_mm": "200"})
    assert now().bore_min_mm == Decimal("165.205")
    assert shown(yard)["bore_max_mm"] == Decimal(200)


def test_an_act_that_there_is_not_is_not_found(yard: Yard, gauge: Item):
    assert act(yard, "paint").status_code == 404
    yard.do(quarantine, gauge, "x")
    yard.do(send, yard.receive("G-2", serial="2"), yard.weir, yard.today)
    assert "somebody" not in act(yard, "set-aside", tag="G-2", why="bent").content.decode().lower()
