"""Roles given and taken away, people added and stood down: what is refused, and what is told."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from kit.models import Deed, Depot, LedgerEntry, Membership, Role
from kit.roles import MAY, SAID, may
from kit.stores import NotAllowed, Who, acting, appoint, depot_named, prove_ledger
from kit.stores.people import (
    add_person,
    change_as_seen,
    foresee_person,
    give_role,
    note_password_link,
    stand_down,
    take_role,
    take_up_again,
)

pytestmark = pytest.mark.django_db

SETTER = Who("command", "test")
LEAD = Who("lee", "people screen")


@pytest.fixture
def north() -> Depot:
    with acting(SETTER) as act:
        north = depot_named(act, "NY")
        appoint(act, User.objects.create_user("lee"), north, Role.COMPLIANCE)
        appoint(act, User.objects.create_user("pat"), north, Role.PLANNER)
    return north


@pytest.fixture
def pat(north: Depot) -> User:
    return User.objects.get(username="pat")


def do(action, *args, who: Who = LEAD, **more):
    with acting(who) as act:
        return action(act, *args, **more)


def last() -> LedgerEntry:
    return LedgerEntry.objects.latest("number")


def test_every_action_has_words():
    assert set(SAID) == set(MAY)


def test_a_role_is_given_taken_away_and_given_again_and_the_ledger_still_proves(north, pat):
    do(give_role, pat, north, Role.EXAMINER, "passed the course")
    assert may(pat, "inspect", north)
    assert "passed the course" in last().body
    do(take_role, pat, north, Role.EXAMINER, "left the bench")
    assert not may(pat, "inspect", north)
    assert may(pat, "plan", north)
    assert (last().deed, last().actor) == (Deed.RELIEVED, "lee")
    assert "left the bench" in last().body
    assert prove_ledger().fault is None
    do(give_role, pat, north, Role.EXAMINER, "back again")
    assert may(pat, "inspect", north)
    assert Membership.ever.filter(user=pat, role=Role.EXAMINER).count() == 1
    assert prove_ledger().fault is None


def test_nobody_raises_themselves(north):
    lee = User.objects.get(username="lee")
    with pytest.raises(NotAllowed, match="Nobody gives a role to themselves"):
        do(give_role, lee, north, Role.DUTY, "I would like to")
    assert not Membership.objects.filter(user=lee, role=Role.DUTY).exists()


def test_the_last_who_may_appoint_stays(north, pat):
    lee = User.objects.get(username="lee")
    with pytest.raises(NotAllowed, match="the last who may appoint"):
        do(take_role, lee, north, Role.COMPLIANCE, "tired of it")
    assert may(lee, "appoint", north)
    do(give_role, pat, north, Role.COMPLIANCE, "takes over")
    # Somebody whose account is closed counts for nobody.
    do(stand_down, pat, "on leave")
    with pytest.raises(NotAllowed, match="the last who may appoint"):
        do(take_role, lee, north, Role.COMPLIANCE, "tired of it")
    do(take_up_again, pat, "back")
    do(take_role, lee, north, Role.COMPLIANCE, "hands over")
    assert not may(lee, "appoint", north)
    assert prove_ledger().fault is None


def test_who_may_not_appoint_changes_nobody(north, pat):
    other = User.objects.create_user("other")
    planner = Who("pat", "people screen")
    for action, args in (
        (give_role, (other, north, Role.STORES, "why")),
        (take_role, (User.objects.get(username="lee"), north, Role.COMPLIANCE, "why")),
        (add_person, ("new", north, Role.STORES, "why")),
        (stand_down, (User.objects.get(username="lee"), "why")),
        (note_password_link, (other, "why")),
    ):
        with pytest.raises(NotAllowed, match="may not appoint"):
            do(action, *args, who=planner)
    assert not User.objects.filter(username="new").exists()


def test_an_account_with_a_role_elsewhere_is_left_alone(north, pat):
    with acting(SETTER) as act:
        appoint(act, pat, depot_named(act, "MB"), Role.PLANNER)
    for action in (stand_down, note_password_link):
        with pytest.raises(NotAllowed, match="may not appoint at MB"):
            do(action, pat, "why")
    pat.refresh_from_db()
    assert pat.is_active


def test_an_account_is_closed_with_a_reason_and_opened_again(north, pat):
    for action in (stand_down, take_up_again):
        with pytest.raises(NotAllowed):
            do(action, pat, " ")
    do(stand_down, pat, "left the firm")
    pat.refresh_from_db()
    assert not pat.is_active
    assert (last().deed, "left the firm" in last().body) == (Deed.PERSON, True)
    with pytest.raises(NotAllowed, match="closed already"):
        do(stand_down, pat, "again")
    with pytest.raises(NotAllowed, match="open it again first"):
        do(note_password_link, pat, "forgotten")
    do(take_up_again, pat, "back again")
    pat.refresh_from_db()
    assert pat.is_active
    with pytest.raises(NotAllowed, match="Nobody closes their own account"):
        do(stand_down, User.objects.get(username="lee"), "enough")


def test_the_proof_finds_an_account_opened_or_closed_past_the_ledger(north, pat):
    do(stand_down, pat, "left the firm")
    assert prove_ledger().fault is None
    User.objects.filter(pk=pat.pk).update(is_active=True)
    assert prove_ledger().fault == "the account of pat is open but the ledger last told that it is closed"
    pat.refresh_from_db()
    User.objects.filter(pk=pat.pk).update(is_active=False)
    do(take_up_again, pat, "back again")
    assert prove_ledger().fault is None
    User.objects.filter(pk=pat.pk).update(is_active=False)
    assert prove_ledger().fault == "the account of pat is closed but the ledger last told that it is open"
    made = do(add_person, "n.quay", north, Role.CREW, "new on the van")
    pat.is_active = True
    pat.save()
    Membership.objects.filter(user=made).delete()
    made.delete()
    assert "membership" in (prove_ledger().fault or "").lower()


def test_a_person_is_added_once_without_a_password(north):
    made = do(add_person, "n.quay", north, Role.CREW, "new on the van", first_name="Nell")
    assert not made.has_usable_password()
    assert may(made, "quarantine", north)
    with pytest.raises(NotAllowed, match="There is an account"):
        do(add_person, "N.Quay", north, Role.CREW, "once more")
    assert prove_ledger().fault is None


def test_a_change_is_foretold_without_a_trace_and_made_as_it_was_shown(north, pat):
    entries = LedgerEntry.objects.count()

    def change(act):
        give_role(act, pat, north, Role.EXAMINER, "passed")
        return pat

    foreseen = foresee_person(LEAD, "pat", change)
    assert {what for _depot, what in foreseen.gains} == {
        action for action, roles in MAY.items() if Role.EXAMINER in roles and Role.PLANNER not in roles
    }
    assert not foreseen.loses
    assert LedgerEntry.objects.count() == entries
    do(give_role, pat, north, Role.STORES, "meanwhile")
    with pytest.raises(NotAllowed, match="Something else would change by now"):
        do(change_as_seen, "pat", change, foreseen.seen)
    assert not Membership.objects.filter(user=pat, role=Role.EXAMINER).exists()
    again = foresee_person(LEAD, "pat", change)
    do(change_as_seen, "pat", change, again.seen)
    assert may(pat, "inspect", north)


def test_it_is_told_that_nobody_else_has_a_role(north, pat):
    def change(act):
        take_role(act, pat, north, Role.PLANNER, "moves on")
        return pat

    assert foresee_person(LEAD, "pat", change).left_without == ((north, Role.PLANNER),)
