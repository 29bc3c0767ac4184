"""Receiving one item at the counter: what is asked, what is refused at its field, what is kept."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Item, Kind, Place, Role
from kit.stores import prove_ledger, set_kind
from tests.kit.views.holm import Yard

GAUGE = {"tag": "G-1", "item_kind": "gauge", "depot": "Holm", "maker": "Pell", "serial": "88-1"}


def send(yard: Yard, who: str = "sal", **sent: object):
    return yard.client(who).post(reverse("receive"), {**GAUGE, **sent}, follow=True)


def test_an_item_is_received_and_waits_for_its_first_check(yard: Yard):
    answer = send(yard, place=" Rack  1 ", made_on="03/2026", note="new\u200b")
    assert answer.redirect_chain[-1][0] == reverse("item", args=["G-1"])
    item = Item.objects.get(tag="G-1")
    assert (item.kind.name, item.depot, item.place.name, item.note) == ("gauge", yard.holm, "Rack 1", "new")
    assert item.made_on.isoformat() == "2026-03-01"
    assert item.fit_until is None
    assert prove_ledger().fault is None


def test_a_lot_is_received_with_its_quantity(yard: Yard):
    assert "A seal is counted" in send(yard, item_kind="seal").content.decode()
    send(yard, item_kind="seal", quantity="12", serial="")
    assert Item.objects.get(tag="G-1").quantity == 12


def test_the_label_is_kept_as_printed(yard: Yard):
    send(yard, item_kind="bag", use_by="270300")
    bag = Item.objects.get(tag="G-1")
    assert (bag.use_by.isoformat(), bag.use_by_precision, bag.use_by_text) == (
        "2027-03-31",
        "month",
        "270300",
    )


def test_what_a_short_date_means_is_a_setting_of_the_kind(yard: Yard):
    assert "ambiguous" in send(yard, item_kind="bag", use_by="3/27").content.decode()
    yard.do(set_kind, "bag", short_date="quarter")
    send(yard, item_kind="bag", use_by="3/27")
    bag = Item.objects.get(tag="G-1")
    assert (bag.use_by.isoformat(), bag.use_by_precision) == ("2027-09-30", "quarter")


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"tag": ""}, "This field is required"),
        ({"tag": " \u200b "}, "This field is required"),
        ({"tag": ".."}, "needs a letter or a figure"),
        ({"tag": "x" * 61}, "at most 60"),
        ({"tag": "a\x00b"}, "Null characters"),
        ({"item_kind": "spoon"}, "not one of the available choices"),
        ({"depot": "Weir"}, "not one of the available choices"),
        ({"quantity": "3"}, "single piece"),
        ({"bore_min_mm": "0", "bore_max_mm": "5"}, "greater than or equal to 0.001"),
        ({"bore_min_mm": "1.2345", "bore_max_mm": "5"}, "3 decimal places"),
        ({"use_by": "tomorrow"}, "cannot be read as a date"),
        ({"made_on": "2026-01-02", "use_by": "2026-01-01"}, "lies before the day it was made"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_what_was_typed_stays(yard: Yard, wrong: dict, why: str):
    page = send(yard, **{"note": "kept in sight", **wrong}).content.decode()
    assert why in page
    assert "kept in sight" in page
    assert not Item.objects.exists()


def test_a_tag_is_used_once_for_ever(yard: Yard):
    yard.receive("G-1", serial="1")
    page = send(yard, serial="2").content.decode()
    assert "in the register already" in page
    assert Item.objects.count() == 1


def test_a_tag_that_differs_only_in_case_is_asked_about_once(yard: Yard):
    yard.receive("g-1", serial="1")
    page = send(yard, serial="2").content.decode()
    assert "differs only in case" in page
    assert 'type="checkbox" name="another"' in page
    send(yard, serial="2", another="on")
    assert set(Item.objects.values_list("tag", flat=True)) == {"g-1", "G-1"}


def test_a_serial_belongs_to_one_item_of_a_maker_and_kind(yard: Yard):
    send(yard)
    page = send(yard, tag="G-2").content.decode()
    assert "G-1 is a gauge with this maker and serial already" in page
    send(yard, tag="G-2", maker="Orm")
    assert Item.objects.count() == 2


def test_goods_come_in_only_where_ones_role_includes_it(yard: Yard):
    yard.appoint("sal", yard.weir, Role.CREW)
    assert "not one of the available choices" in send(yard, depot="Weir").content.decode()
    yard.appoint("lee", yard.weir, Role.COMPLIANCE)
    send(yard, "lee", depot="Weir")
    assert Item.objects.get(tag="G-1").depot == yard.weir


def test_a_new_place_is_set_up_and_a_known_one_used_again(yard: Yard):
    send(yard, place="Cage")
    send(yard, tag="G-2", serial="2", place="Cage")
    assert Place.objects.filter(depot=yard.holm, name="Cage").count() == 1
    assert Kind.objects.get(name="gauge").items.count() == 2
