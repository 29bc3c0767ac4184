"""Places set up, renamed and withdrawn: what lies there is shown first, moved or left, and never forgotten."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Item, LedgerEntry, Place, Role
from kit.stores import acting, begin_stock_take, lose, place_named, prove_ledger, receive, reserve
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, bag, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    made = yard()
    with acting(STORES) as act:
        place_named(act, made.north, "Bay 3")
    return made


def named(name: str) -> Place:
    return Place.ever.get(name=name)


def as_seen(client, address: str, data: dict[str, str]):
    seen = client.post(address, data).context["seen"]
    return client.post(address, {**data, "seen": seen}, follow=True)


def withdrawal(name: str) -> str:
    return reverse("withdraw_place", args=[named(name).pk])


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_who_changes_items_changes_places(place, role):
    client = seat(role, place.north)
    allowed = role in (Role.STORES, Role.COMPLIANCE)
    for address in (
        withdrawal("Bay 3"),
        reverse("rename_place", args=[named("Bay 3").pk]),
        reverse("new_place"),
    ):
        assert client.get(address).status_code == (200 if allowed else 403)
        if not allowed:
            assert client.post(address, {"name": "x", "why": "x", "seen": "x"}).status_code == 403
    assert ("Withdraw" in client.get(reverse("places")).content.decode()) == allowed
    assert not named("Bay 3").withdrawn


def test_a_place_is_renamed_with_what_lies_in_it(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = seat(Role.STORES, place.north)
    address = reverse("rename_place", args=[named("Rack 2").pk])
    entries = LedgerEntry.objects.count()
    shown = client.post(address, {"name": "Rack 2 left", "why": "two racks now"})
    assert len(shown.context["pieces"]) == 6
    assert "6 pieces lie there and stay there under the new name" in shown.content.decode()
    assert reverse("load_list", args=["J/26-104"]) in shown.content.decode()
    assert LedgerEntry.objects.count() == entries
    as_seen(client, address, {"name": "Rack 2 left", "why": "two racks now"})
    assert place.item("NY-B1").place.name == "Rack 2 left"
    assert "two racks now" in LedgerEntry.objects.latest("number").body
    assert prove_ledger().fault is None


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"name": "cage 1", "why": "x"}, "has a place Cage 1 already"),
        ({"name": "Rack 2", "why": "x"}, "is called Rack 2 already"),
        ({"name": "Rack 9", "why": ""}, "This field is required"),
    ],
)
def test_a_name_that_is_taken_is_refused(place, data, said):
    client = seat(Role.STORES, place.north)
    answer = client.post(reverse("rename_place", args=[named("Rack 2").pk]), data)
    assert said in answer.content.decode()
    assert answer.context["pieces"] is None


def test_a_place_with_pieces_in_it_is_not_withdrawn_until_they_have_another(place):
    client = seat(Role.STORES, place.north)
    answer = client.post(withdrawal("Rack 2"), {"why": "pulled down"})
    assert "6 pieces lie in Rack 2 (NY-B1" in answer.content.decode()
    assert not named("Rack 2").withdrawn
    data = {"why": "pulled down", "to": str(named("Bay 3").pk)}
    shown = client.post(withdrawal("Rack 2"), data)
    assert "6 pieces go to the other place" in shown.content.decode()
    assert place.item("NY-B1").place.name == "Rack 2"
    page = as_seen(client, withdrawal("Rack 2"), data).content.decode()
    assert "6 pieces go to Bay 3" in page
    assert set(Item.objects.filter(kind__name="bag").values_list("place__name", flat=True)) == {"Bay 3"}
    assert named("Rack 2").withdrawn
    assert prove_ledger().fault is None
    # It is offered nowhere any more, and putting a piece there brings it back.
    assert ">Rack 2<" not in client.get(reverse("register")).content.decode()
    assert client.get(withdrawal("Rack 2")).status_code == 404
    with acting(STORES) as act:
        place_named(act, place.north, "Rack 2")
    assert not named("Rack 2").withdrawn
    assert prove_ledger().fault is None


def test_what_lies_there_by_now_and_was_not_shown_stops_it(place):
    client = seat(Role.STORES, place.north)
    data = {"why": "pulled down", "to": str(named("Cage 1").pk)}
    seen = client.post(withdrawal("Rack 2"), data).context["seen"]
    with acting(STORES) as act:
        receive(act, [bag(place.north, "NY-B20", named("Rack 2"))])
    answer = client.post(withdrawal("Rack 2"), {**data, "seen": seen})
    assert "Other pieces lie there by now" in answer.content.decode()
    assert not named("Rack 2").withdrawn


def test_a_lost_piece_lies_nowhere_and_a_place_that_is_counted_stays(place):
    client = seat(Role.STORES, place.north)
    with acting(STORES) as act:
        lose(act, place.item("NY-B9"), "not on the rack")
        count = begin_stock_take(act, place.north, named("Bay 3"))
    answer = client.post(withdrawal("Bay 3"), {"why": "x"})
    assert f"being counted in stock-take {count.number}" in answer.content.decode()
    as_seen(client, withdrawal("Rack 2"), {"why": "x", "to": str(named("Bay 3").pk)})
    assert place.item("NY-B9").place is None
    assert prove_ledger().fault is None


def test_a_place_is_set_up_last_in_the_walk(place):
    client = seat(Role.STORES, place.north)
    client.post(reverse("new_place"), {"name": "Bay 4"})
    assert list(Place.objects.filter(depot=place.north))[-1].name == "Bay 4"
    assert "already" in client.post(reverse("new_place"), {"name": "bay 4"}).content.decode()


def test_a_place_of_another_depot_is_out_of_reach(place):
    with acting(STORES) as act:
        far = place_named(act, place.mill, "Far rack")
    client = seat(Role.STORES, place.north)
    assert client.post(reverse("withdraw_place", args=[far.pk]), {"why": "x", "seen": "x"}).status_code == 404
