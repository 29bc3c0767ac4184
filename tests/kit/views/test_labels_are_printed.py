"""Labels from a screen: of items named, of a place, told in the ledger, refused with why."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Deed, Item, LedgerEntry, Role
from kit.stores import prove_ledger
from tests.kit.papers.examples import pages, qr_codes
from tests.kit.views.yard import EVERY_ROLE, Yard, seat, yard

pytestmark = pytest.mark.django_db
PRINTING = {Role.STORES, Role.EXAMINER, Role.COMPLIANCE}


@pytest.fixture
def place() -> Yard:
    return yard()


def asked(**other: object) -> dict[str, object]:
    return {"tags": "NY-B2\nNY-B1\n", "stock": "roll-100x50", "code": "qr", "start": "1", **other}


def test_items_are_printed_in_the_order_named_and_the_ledger_tells_of_each(place):
    answer = seat(Role.STORES, place.north).post(reverse("labels"), asked())
    assert answer["Content-Type"] == "application/pdf"
    assert qr_codes(answer.content) == [["NY-B2"], ["NY-B1"]]
    bag = place.item("NY-B1")
    assert bag.kind.name in pages(answer.content)[1]
    assert LedgerEntry.objects.filter(deed=Deed.PRINTED, mentions__about="item:NY-B1").count() == 1
    assert prove_ledger().fault is None


def test_a_place_is_printed_whole(place):
    rack = place.item("NY-B1").place
    lying = sorted(Item.objects.filter(place=rack).values_list("tag", flat=True))
    answer = seat(Role.STORES, place.north).post(reverse("labels"), asked(tags="", place=rack.pk))
    assert [tag for page in qr_codes(answer.content) for tag in page] == lying


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"tags": ""}, "No item is named"),
        ({"tags": "NY-B1\nNOT-OURS"}, "No item of your depots has this tag: NOT-OURS"),
        ({"stock": "sheet-90x50", "start": "11"}, "write a number from 1 to 10"),
    ],
)
def test_what_cannot_be_printed_says_why(place, wrong, why):
    answer = seat(Role.STORES, place.north).post(reverse("labels"), asked(**wrong))
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert not LedgerEntry.objects.filter(deed=Deed.PRINTED).exists()


def test_those_who_may_print_find_the_way_on_the_item(place):
    way = reverse("labels") + "?tag=NY-B1"
    for role in EVERY_ROLE:
        client = seat(role, place.north)
        shown = client.get(reverse("item", args=["NY-B1"])).content.decode()
        assert (way in shown) is (role in PRINTING), role
        answer = client.get(way)
        assert (answer.status_code == 200) is (role in PRINTING), role
        if role in PRINTING:
            assert answer.context["form"].initial["tags"] == "NY-B1"


def test_an_item_of_a_depot_where_one_may_not_print_is_not_printed(place):
    elsewhere = Item.objects.filter(depot=place.mill).first() or place.item("NY-B1")
    desk = place.north if elsewhere.depot == place.mill else place.mill
    answer = seat(Role.STORES, desk).post(reverse("labels"), asked(tags=elsewhere.tag))
    assert answer.status_code == 422
