"""A long list in hand: columns chosen, the view kept, the whole list chosen, changed after a look; read by axe."""

import re

import pytest
from playwright.sync_api import expect

from kit.models import Item, Role
from tests.kit.views.yard import person, yard

pytestmark = pytest.mark.django_db(transaction=True)


def looks_right(page, assert_accessible) -> None:
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
    size = page.viewport_size
    page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    assert_accessible(page)
    page.set_viewport_size(size)


def test_columns_are_chosen_the_view_is_kept_and_the_whole_list_is_changed(
    each_page, sign_in, assert_accessible
):
    place = yard()
    page = each_page
    sign_in(page, person(Role.STORES, place.north))
    page.goto("/register/?depot=")
    summary = page.locator("summary", has_text="Columns")
    summary.click()
    page.locator(".tools__columns").get_by_label("Maker", exact=True).check()
    page.locator("summary", has_text="Keep this view").click()
    page.locator("summary", has_text="Write out").click()
    expect(page.get_by_role("link", name=".ods")).to_be_visible()
    looks_right(page, assert_accessible)
    page.get_by_role("button", name="Show these columns").click()
    page.wait_for_url("**columns=maker**")
    # Sorting swaps the table alone: what is kept has to follow it.
    page.evaluate("document.querySelector('#listing-by-tag').click()")
    page.wait_for_url("**sort=-tag**")
    expect(page.locator("#list-tools input[name=query]").first).to_have_value(re.compile("sort=-tag"))
    page.locator("summary", has_text="Keep this view").click()
    page.get_by_label("Name of the view").fill("By maker")
    page.get_by_role("button", name="Keep it").click()
    expect(page.get_by_role("link", name="By maker")).to_be_visible()
    whole = page.locator("[data-choose-whole]")
    if whole.count():
        whole.check()
    else:
        page.locator("[data-choose-all] input").check()
    page.get_by_role("button", name="Change the chosen").click()
    page.get_by_label("Change the place").check()
    page.get_by_label("Place (optional)").fill("Rack 77")
    page.get_by_label("Why").fill("new racks")
    looks_right(page, assert_accessible)
    page.get_by_role("button", name="See what it would do").click()
    expect(page.get_by_role("heading", name="Change the place: what it would do")).to_be_visible()
    looks_right(page, assert_accessible)
    assert not Item.objects.filter(place__name="Rack 77").exists()
    page.get_by_role("button", name="Change the place:").click()
    expect(page.get_by_text("pieces are changed.")).to_be_visible()
    assert Item.objects.filter(place__name="Rack 77").count() > 1
