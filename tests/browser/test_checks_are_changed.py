"""A compliance lead changes a check after seeing what it brings, and sets up its readings, by keyboard alone."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from inspections.actions import CheckSpec, set_checks
from inspections.models import Check
from kit.models import Role
from kit.stores import acting, prove_ledger, reserve
from tests.kit.views.yard import STORES, Yard, in_days, kind, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place() -> Yard:
    """With promises, a check with two versions, one to come and one that is asked for no more."""
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
        set_checks(act, kind("bag"), [CheckSpec("weighing", "P1Y", gates=False)], dropped=())
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P5M")], why="hot summer", dropped=())
        set_checks(act, kind("bag"), [], dropped=["weighing"], from_day=in_days(40), why="of no use")
        set_checks(act, kind("bag"), [CheckSpec("thread", "P1Y")], from_day=in_days(40), dropped=())
    return made


def the_check() -> Check:
    return Check.objects.get(kind=kind("bag"), name="hold test")


def fits(page: Page) -> None:
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0, f"{page.url} is {wide} px wider than the screen"


@pytest.fixture
def look(assert_accessible) -> Callable[[Page], None]:
    def looked(page: Page) -> None:
        fits(page)
        size = page.viewport_size
        height = page.evaluate("document.documentElement.scrollHeight")
        page.set_viewport_size({"width": size["width"], "height": height})
        assert_accessible(page)
        page.set_viewport_size(size)

    return looked


def test_a_rule_is_changed_after_what_it_brings_was_seen(each_page, sign_in, look, place):
    page = each_page
    sign_in(page, person(Role.COMPLIANCE, place.north))
    page.goto(reverse("kind_checks", args=[kind("bag").pk]))
    expect(page.get_by_text("asked for no more, set by")).to_be_visible()
    page.locator(".check__versions > summary").first.click()
    look(page)
    page.get_by_role("link", name=re.compile("Change the rule.*hold test")).click()
    look(page)
    page.get_by_label("Due every").fill("P7D")
    page.get_by_label("Why it is changed").first.fill("two bags leaked")
    page.get_by_role("button", name="Show what it changes").click()
    expect(page.get_by_text("every 7 days from the day done", exact=False).first).to_be_visible()
    expect(page.get_by_role("heading", name="Promises that would break")).to_be_visible()
    look(page)
    assert the_check().interval == "P5M"
    page.get_by_role("button", name="Record the change").click()
    expect(page.get_by_text("are recorded, and all due dates follow")).to_be_visible()
    assert the_check().interval == "P7D"
    assert prove_ledger().fault is None


def test_what_is_wrong_in_a_rule_is_said_and_fits(each_page, sign_in, look, place):
    page = each_page
    sign_in(page, person(Role.COMPLIANCE, place.north))
    page.goto(reverse("new_check", args=[kind("bag").pk]))
    page.get_by_label("Judged as").select_option("hold test")
    page.get_by_role("button", name="Show what it changes").click()
    expect(page.get_by_text("The verdict is computed from it").first).to_be_visible()
    look(page)


def test_readings_are_set_up_by_keyboard_and_shown_as_they_are_typed(each_page, sign_in, look, place):
    page = each_page
    sign_in(page, person(Role.COMPLIANCE, place.north))
    page.goto(reverse("check_readings", args=[kind("bag").pk, the_check().pk]))
    look(page)
    page.get_by_role("button", name="Another reading").press("Enter")
    first = page.get_by_role("group", name="Reading 1")
    first.get_by_label("What people read").fill("Cover is whole")
    first.get_by_label("What people read").press("Tab")
    shown = page.locator("#as-shown")
    expect(shown.get_by_text("Cover is whole")).to_be_visible()
    page.get_by_role("button", name="Another reading").press("Enter")
    second = page.get_by_role("group", name="Reading 2")
    second.get_by_label("What people read").fill("Wear")
    second.get_by_label("Answered by").select_option("number")
    page.get_by_role("button", name=re.compile("Up.*reading 2")).press("Enter")
    expect(page.get_by_role("group", name="Reading 1").get_by_label("What people read")).to_have_value("Wear")
    look(page)
    # "yes" passes for a yes or no only: said at its row.
    page.get_by_label("Why it is changed").fill("issue 3")
    page.get_by_role("button", name="Record the readings").press("Enter")
    expect(page.get_by_text("means nothing for the kind number").first).to_be_visible()
    look(page)
    page.get_by_role("group", name="Reading 1").get_by_label("Answers that pass").fill("")
    page.get_by_role("button", name="Record the readings").press("Enter")
    expect(page.get_by_text("is recorded as a new version")).to_be_visible()
    assert [field["name"] for field in the_check().form["fields"]] == ["wear", "cover_is_whole"]


@pytest.mark.parametrize("name", ["repair", "order_retest"])
def test_repairs_and_retests_are_asked_for(each_page, sign_in, look, place, name):
    page = each_page
    sign_in(page, person(Role.EXAMINER, place.north))
    page.goto(reverse(name, args=["NY-B1"]))
    look(page)
