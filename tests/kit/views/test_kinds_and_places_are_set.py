"""Settings of kinds, labels of makers and the walk round a store: by whom, and what follows from them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Kind, MakerLabel, Place, Role, ShortDate
from kit.papers.from_store import load_list_of
from kit.stores import acting, kit_list_of, prove_ledger, reserve
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, kind, seat, yard

pytestmark = pytest.mark.django_db

BAG = {
    "turn_round_days": "0",
    "margin_days": "0",
    "short_date": "",
    "has_bore": "on",
    "has_serial": "on",
    "has_batch": "on",
    "has_use_by": "on",
    "check_after_use": "on",
}


@pytest.fixture
def place() -> Yard:
    return yard()


def address() -> str:
    return reverse("kind", args=[kind("bag").pk])


def test_a_greater_margin_breaks_promises_and_says_so(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = seat(Role.COMPLIANCE, place.north)
    answer = client.post(address(), {**BAG, "margin_days": "300"}, follow=True)
    said = [str(message) for message in answer.context["messages"]]
    assert sum("no longer holds for J/26-104" in text for text in said) == 4
    assert kind("bag").margin_days == 300
    assert prove_ledger().fault is None


def test_what_short_dates_mean_is_set_for_the_kind_and_for_a_maker(place):
    client = seat(Role.COMPLIANCE, place.north)
    client.post(address(), {**BAG, "short_date": "month"})
    assert kind("bag").short_date == ShortDate.MONTH
    answer = client.post(address(), {"maker": "Anvil & Sons", "short_date": "quarter"}, follow=True)
    assert MakerLabel.objects.get(kind=kind("bag")).short_date == ShortDate.QUARTER
    assert "Anvil &amp; Sons" in answer.content.decode()
    # The settings of the kind were not in that form and are as they were.
    assert kind("bag").short_date == ShortDate.MONTH


def test_days_below_none_are_refused(place):
    answer = seat(Role.COMPLIANCE, place.north).post(
        address(), {**BAG, "margin_days": "-1", "turn_round_days": "x"}
    )
    assert set(answer.context["form"].errors) == {"margin_days", "turn_round_days"}
    assert kind("bag").margin_days == 0


def test_a_new_kind_is_set_up_once(place):
    client = seat(Role.COMPLIANCE, place.north)
    data = {
        "name": "hose clip",
        "counted": "on",
        "turn_round_days": "1",
        "margin_days": "0",
        "short_date": "",
    }
    answer = client.post(reverse("new_kind"), data)
    made = Kind.objects.get(name="hose clip")
    assert answer.url == reverse("kind", args=[made.pk])
    assert (made.counted, made.turn_round_days, made.has_serial) == (True, 1, False)
    answer = client.post(reverse("new_kind"), {**data, "name": "Hose Clip"})
    assert "There is a kind hose clip already." in answer.content.decode()


@pytest.mark.parametrize("role", [role for role in EVERY_ROLE if role != Role.COMPLIANCE])
def test_others_read_the_settings_and_do_not_change_them(place, role):
    client = seat(role, place.north)
    text = client.get(address()).content.decode()
    assert "Record the settings" not in text
    assert "Margin, days" in text
    assert client.post(address(), {**BAG, "margin_days": "9"}).status_code == 403
    assert client.post(reverse("new_kind"), {"name": "x"}).status_code == 403
    assert kind("bag").margin_days == 0


def test_the_walk_round_the_store_orders_the_load_list(place):
    cage, rack = Place.objects.get(name="Cage 1"), Place.objects.get(name="Rack 2")
    client = seat(Role.STORES, place.north)
    client.post(reverse("places"), {f"place-{cage.pk}": "9", f"place-{rack.pk}": "1"})
    paper = load_list_of(place.job, kit_list_of(place.job))
    assert list(paper.by_place()) == ["Rack 2", "Cage 1"]
    assert prove_ledger().fault is None
    assert (
        "Nothing differs"
        in client.post(
            reverse("places"), {f"place-{cage.pk}": "9", f"place-{rack.pk}": "1"}, follow=True
        ).content.decode()
    )


def test_the_walk_of_a_store_is_set_by_those_who_keep_it(place):
    cage = Place.objects.get(name="Cage 1")
    for role in (Role.CREW, Role.PLANNER, Role.EXAMINER):
        assert seat(role, place.north).post(reverse("places"), {f"place-{cage.pk}": "9"}).status_code == 403
    cage.refresh_from_db()
    assert cage.walk == 1
