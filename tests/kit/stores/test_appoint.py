"""A role is given once, told of in the ledger, and only to somebody who may sign in."""

import pytest
from django.contrib.auth.models import User

from kit.models import Deed, Depot, LedgerEntry, Membership, Role
from kit.roles import may
from kit.stores import NotAllowed, Who, acting, appoint, depot_named, prove_ledger

pytestmark = pytest.mark.django_db

WHO = Who("i.marsh", "test")


@pytest.fixture
def depot() -> Depot:
    with acting(WHO) as act:
        return depot_named(act, "NY")


def test_a_role_is_given_at_one_depot_and_told_of(depot: Depot) -> None:
    user = User.objects.create_user("t.wick")
    with acting(WHO) as act:
        elsewhere = depot_named(act, "MB")
        appoint(act, user, depot, Role.EXAMINER)
    assert may(user, "inspect", depot)
    assert not may(user, "inspect", elsewhere)
    [entry] = LedgerEntry.objects.filter(deed=Deed.APPOINTED)
    assert entry.actor == "i.marsh"
    assert set(entry.mentions.values_list("about", flat=True)) == {"user:t.wick", "depot:NY"}
    assert prove_ledger().fault is None


def test_given_again_it_changes_nothing(depot: Depot) -> None:
    user = User.objects.create_user("t.wick")
    for _ in range(2):
        with acting(WHO) as act:
            appoint(act, user, depot, Role.CREW)
    assert Membership.objects.count() == 1
    assert LedgerEntry.objects.filter(deed=Deed.APPOINTED).count() == 1


def test_an_unknown_role_is_refused(depot: Depot) -> None:
    user = User.objects.create_user("t.wick")
    with pytest.raises(NotAllowed, match="no role 'boss'"), acting(WHO) as act:
        appoint(act, user, depot, "boss")
    assert not Membership.objects.exists()


def test_a_closed_account_is_given_no_role(depot: Depot) -> None:
    user = User.objects.create_user("t.wick", is_active=False)
    with pytest.raises(NotAllowed, match=r"t\.wick is closed"), acting(WHO) as act:
        appoint(act, user, depot, Role.CREW)
    assert not Membership.objects.exists()


def test_a_membership_behind_the_ledger_is_found_by_the_proof(depot: Depot) -> None:
    user = User.objects.create_user("t.wick")
    Membership.objects.create(user=user, depot=depot, role=Role.COMPLIANCE)
    assert "membership" in str(prove_ledger().fault)
