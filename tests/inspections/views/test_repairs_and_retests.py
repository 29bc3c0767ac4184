"""Repairs are noted and re-tests asked for on an item's page, by those who may."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from inspections.models import Cause, RetestCall
from kit.models import Role
from kit.stores import acting, prove_ledger, quarantine, withdraw
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, kind, seat, yard

pytestmark = pytest.mark.django_db

REPAIR, RETEST = reverse("repair", args=["NY-B1"]), reverse("order_retest", args=["NY-B1"])
ITEM = reverse("item", args=["NY-B1"])


@pytest.fixture
def place() -> Yard:
    """Bags whose hold test a repair calls for."""
    made = yard()
    with acting(STORES) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P6M", after_repair=True)])
    return made


def test_a_repair_is_noted_and_the_item_waits_for_its_check(place):
    client = seat(Role.STORES, place.north)
    answer = client.post(REPAIR, {"what": "new valve"}, follow=True)
    assert answer.redirect_chain[-1][0] == ITEM
    text = answer.content.decode()
    assert "The repair of NY-B1 is noted. 1 check waits to be done." in text
    assert "repaired, awaiting its check" in text
    assert place.item("NY-B1").fit_until is None
    assert RetestCall.objects.get().cause == Cause.REPAIR
    assert prove_ledger().fault is None


def test_a_retest_is_asked_for_with_a_reason(place):
    client = seat(Role.EXAMINER, place.north)
    assert client.get(RETEST).context["form"]["check_called"].value() == "hold test"
    client.post(RETEST, {"check_called": "hold test", "why": "dropped"})
    call = RetestCall.objects.get()
    assert (call.cause, call.check_called.name, call.why) == (Cause.ORDERED, "hold test", "dropped")
    assert place.item("NY-B1").fit_until is None


@pytest.mark.parametrize(
    ("address", "data", "words"),
    [
        (REPAIR, {"what": " "}, "This field is required"),
        (RETEST, {"check_called": "hold test", "why": ""}, "This field is required"),
        (RETEST, {"check_called": "inspection", "why": "x"}, "valid choice"),
    ],
)
def test_what_lacks_is_said_at_its_field(place, address, data, words):
    answer = seat(Role.COMPLIANCE, place.north).post(address, data)
    assert words in answer.content.decode()
    assert RetestCall.objects.count() == 0


def test_what_the_action_refuses_is_said_on_the_page(place):
    with acting(STORES) as act:
        withdraw(act, place.item("NY-B1"), "torn")
    answer = seat(Role.STORES, place.north).post(REPAIR, {"what": "sewn"})
    assert "it cannot be repaired" in answer.content.decode()


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_each_role_is_offered_what_it_may_do(place, role):
    client = seat(role, place.north)
    text = client.get(ITEM).content.decode()
    repairs = role in (Role.STORES, Role.EXAMINER, Role.COMPLIANCE)
    orders = role in (Role.EXAMINER, Role.COMPLIANCE)
    assert (REPAIR in text, RETEST in text) == (repairs, orders)
    assert client.get(REPAIR).status_code == (200 if repairs else 403)
    assert client.get(RETEST).status_code == (200 if orders else 403)


def test_a_piece_set_aside_may_be_repaired_a_lot_may_not(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "leaks")
    client = seat(Role.STORES, place.north)
    assert REPAIR in client.get(ITEM).content.decode()
    assert "/repair/" not in client.get(reverse("item", args=["LOT-7"])).content.decode()
