"""Kinds, places, people and roles set by keyboard at both widths: looked at first, then recorded; read by axe."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.urls import reverse
from playwright.sync_api import expect

from kit.models import Membership, Place, Role
from kit.stores import acting, place_named, prove_ledger, reserve
from tests.kit.views.yard import STORES, kind, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place():
    made = yard()
    with acting(STORES) as act:
        place_named(act, made.north, "Bay 3")
        reserve(act, made.job)
    return made


def looks_right(page, assert_accessible) -> None:
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    assert_accessible(page)


def press_what_was_shown(page, assert_accessible, heading: str = "What it changes") -> None:
    """The heading of what is foretold has the focus: the next stop is the press that records it."""
    expect(page.get_by_role("heading", name=heading)).to_be_focused()
    looks_right(page, assert_accessible)
    page.locator("button[name=seen]").focus()
    page.keyboard.press("Enter")


def test_a_margin_is_looked_at_and_recorded(place, each_page, sign_in, assert_accessible):
    page = each_page
    sign_in(page, person(Role.COMPLIANCE, place.north))
    page.goto(reverse("kind", args=[kind("bag").pk]))
    page.get_by_label("Margin, days").fill("300")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="4 promises break")).to_be_visible()
    assert kind("bag").margin_days == 0
    press_what_was_shown(page, assert_accessible)
    page.get_by_text("The settings of bag are recorded.").wait_for()
    assert kind("bag").margin_days == 300


def test_a_place_is_withdrawn_into_another(place, each_page, sign_in, assert_accessible):
    page = each_page
    sign_in(page, person(Role.STORES, place.north))
    page.goto(reverse("places"))
    looks_right(page, assert_accessible)
    page.get_by_role("link", name="Withdraw Rack 2").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/withdraw/")
    page.get_by_label("What lies there goes to").select_option(label="Bay 3")
    page.get_by_label("Why").fill("pulled down")
    page.keyboard.press("Enter")
    press_what_was_shown(page, assert_accessible)
    page.get_by_text("6 pieces go to Bay 3").wait_for()
    looks_right(page, assert_accessible)
    assert Place.ever.get(name="Rack 2").withdrawn
    assert prove_ledger().fault is None


def test_a_person_is_added_given_a_role_and_sets_a_password(
    place, each_page, open_page, screen, sign_in, assert_accessible
):
    page = each_page
    sign_in(page, person(Role.COMPLIANCE, place.north))
    page.goto(reverse("people"))
    looks_right(page, assert_accessible)
    page.get_by_role("link", name="Add a person").click()
    page.wait_for_url("**/people/new/")
    page.get_by_label("Name to sign in with").fill("n.quay")
    page.get_by_label("Role").select_option(label="Van crew")
    page.get_by_label("Why").fill("new on the van")
    page.keyboard.press("Enter")
    press_what_was_shown(page, assert_accessible)
    page.get_by_text("No password is set yet").wait_for()
    looks_right(page, assert_accessible)
    page.get_by_role("link", name="Give a role").click()
    page.wait_for_url("**/give/")
    page.get_by_label("Role").select_option(label="Stores person")
    page.get_by_label("Why").fill("helps at the counter")
    page.keyboard.press("Enter")
    press_what_was_shown(page, assert_accessible)
    page.get_by_role("link", name="Take away Stores person").wait_for()
    user = User.objects.get(username="n.quay")
    assert set(Membership.objects.filter(user=user).values_list("role", flat=True)) == {
        Role.CREW,
        Role.STORES,
    }
    page.get_by_role("link", name="Link to set a password").click()
    page.wait_for_url("**/password-link/")
    page.get_by_label("Why").fill("first day")
    page.keyboard.press("Enter")
    link = page.get_by_label("Address").input_value()
    looks_right(page, assert_accessible)
    theirs = open_page(screen)
    theirs.goto(link)
    looks_right(theirs, assert_accessible)
    for field in theirs.locator("input[type=password]").all():
        field.fill("eleven pale lanterns")
    theirs.keyboard.press("Enter")
    theirs.get_by_text("Your password is set").wait_for()
    theirs.get_by_label("Username").fill("n.quay")
    theirs.get_by_label("Password").fill("eleven pale lanterns")
    theirs.keyboard.press("Enter")
    theirs.get_by_role("heading", name="Today").wait_for()
    theirs.goto(reverse("roles"))
    looks_right(theirs, assert_accessible)
