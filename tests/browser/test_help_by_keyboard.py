"""The sheet of keys by its keys, where they work and where a scanner types; words and pages that went wrong; axe."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from kit.models import Deed, Depot, Role
from kit.stores import acting, found_register
from tests.kit.views.yard import STORES, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place():
    return yard()


def looks_right(page, assert_accessible) -> None:
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    assert_accessible(page)


def test_the_sheet_opens_by_its_keys_and_closes_by_escape(place, each_page, sign_in, assert_accessible):
    page = each_page
    sign_in(page, person(Role.STORES, place.north))
    page.goto(reverse("jobs"))
    sheet = page.locator("dialog#keys")
    page.keyboard.press("Shift+?")
    expect(sheet).to_be_visible()
    expect(sheet.get_by_text("finish the issue once every scan is answered")).to_be_visible()
    looks_right(page, assert_accessible)
    page.keyboard.press("Escape")
    expect(sheet).to_be_hidden()
    # Where somebody writes, ? is a letter.
    page.goto(reverse("words"))
    box = page.get_by_label("Look for")
    box.focus()
    page.keyboard.type("what?")
    expect(box).to_have_value("what?")
    expect(sheet).to_be_hidden()
    page.keyboard.press("Control+/")
    expect(sheet).to_be_visible()


def test_on_a_page_with_a_scan_box_the_key_belongs_to_the_scanner(place, page, sign_in, assert_accessible):
    sign_in(page, person(Role.STORES, place.north))
    page.goto(reverse("counter"))
    sheet = page.locator("dialog#keys")
    page.get_by_role("heading", level=1).click()
    page.keyboard.type("?A1")
    expect(page.locator("#scan-code")).to_have_value("?A1")
    expect(sheet).to_be_hidden()
    page.keyboard.press("Control+/")
    expect(sheet).to_be_visible()
    # What is typed while the sheet is open does not reach the scan box.
    page.keyboard.type("B2")
    page.keyboard.press("Escape")
    expect(page.locator("#scan-code")).to_have_value("?A1")


def test_the_single_key_is_switched_off_and_stays_off_on_the_device(place, page, sign_in):
    sign_in(page, person(Role.PLANNER, place.north))
    page.goto(reverse("keys"))
    page.get_by_role("button", name="switch it off").click()
    page.goto(reverse("jobs"))
    page.keyboard.press("Shift+?")
    page.keyboard.press("Control+/")
    sheet = page.locator("dialog#keys")
    expect(sheet).to_be_visible()
    sheet.get_by_role("button", name="switch it on").click()
    page.keyboard.press("Escape")
    page.keyboard.press("Shift+?")
    expect(sheet).to_be_visible()


def test_help_pages_and_pages_that_went_wrong_are_accessible(place, each_page, sign_in, assert_accessible):
    page = each_page
    sign_in(page, person(Role.CREW, place.north))
    for address, heading in (
        (reverse("words") + "#margin", "Words and rules"),
        (reverse("words") + "?q=zebra", "Words and rules"),
        (reverse("keys"), "What the keyboard does"),
        (reverse("tour"), "A tour of about ten minutes"),
        ("/items/NO-SUCH/", "Not in the book"),
        (reverse("ledger"), "Not yours to do"),
    ):
        page.goto(address)
        page.get_by_role("heading", name=heading, level=1).wait_for()
        looks_right(page, assert_accessible)


def test_a_step_of_the_tour_is_marked_by_keyboard(place, each_page, sign_in, assert_accessible):
    page = each_page
    sign_in(page, person(Role.PLANNER, place.north))
    page.goto(reverse("tour"))
    page.locator("#board").get_by_role("button", name="I have seen it").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/tour/#breaks")
    expect(page.get_by_text("1 of 6 seen")).to_be_visible()
    looks_right(page, assert_accessible)
    page.locator("#breaks").get_by_role("link", name="Open").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/breaks/")


def test_an_empty_depot_is_accessible_for_every_role(each_page, sign_in, assert_accessible):
    page = each_page
    with acting(STORES) as act:
        found_register(act)
        depot = act.create(Depot(code="NY", name="North yard"))
        act.tell(Deed.CHANGED, [depot])
    for role, names in (
        (Role.STORES, ("today", "register", "transfers", "places")),
        (Role.EXAMINER, ("bench", "due")),
        (Role.COMPLIANCE, ("today", "concessions", "quarantine")),
        (Role.DUTY, ("today",)),
    ):
        sign_in(page, person(role, depot))
        for name in names:
            page.goto(reverse(name))
            looks_right(page, assert_accessible)
