"""A rack is counted by scanner and keyboard: large answers, each difference settled, the count closed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from kit.models import Item, State, StockTake
from kit.stores import begin_stock_take, place_named, prove_ledger
from tests.browser.test_transfer_between_depots import look_at
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def made(db) -> Yard:
    made = make_yard()
    rack, other = made.do(place_named, made.holm, "Rack 1"), made.do(place_named, made.holm, "Rack 2")
    for tag in ("HT-1", "HT-2", "HT-3"):
        made.receive(tag, kind="hand tool", passed=False, place=rack)
    made.receive("HT-9", kind="hand tool", passed=False, place=other)
    made.do(begin_stock_take, made.holm, rack, who="lee")
    return made


def scan(page: Page, code: str) -> None:
    expect(page.get_by_label("Scan what is here")).to_be_focused()
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def test_a_rack_is_counted_and_each_difference_settled(
    made: Yard, each_page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    page = each_page
    sign_in(page, made.people["sal"])
    page.goto("/stock-take/")
    look_at(page, assert_accessible)
    page.goto("/stock-take/1/")
    scan(page, "HT-1")
    scan(page, "HT-9")
    expect(page.locator("#answers")).to_contain_text("HT-9: It belongs to Rack 2 at Holm.")
    scan(page, "HT-2")
    lists = page.locator("#stock-lists")
    expect(lists).to_contain_text("2 of 3 seen")
    expect(lists).to_contain_text("1 to settle")
    look_at(page, assert_accessible)

    settle = page.get_by_role("link", name="Settle HT-9")
    settle.focus()
    expect(settle).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url("**/stock-take/1/*/")
    why = page.get_by_label("Why")
    expect(why).to_be_visible()
    look_at(page, assert_accessible)
    why.fill("carried back to Rack 2")
    page.get_by_role("button", name="I put it where it belongs").press("Enter")
    page.wait_for_url("**/stock-take/1/")

    missing = page.get_by_role("link", name="Not here HT-3")
    missing.focus()
    expect(missing).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url("**/stock-take/1/*/")
    why = page.get_by_label("Why")
    expect(why).to_be_visible()
    why.fill("on no rack")
    page.get_by_role("button", name="Note it as lost").press("Enter")
    page.wait_for_url("**/stock-take/1/")
    page.get_by_role("button", name="Close the count").press("Enter")
    expect(page.locator("#messages")).to_contain_text("S1 is closed.")
    look_at(page, assert_accessible)
    assert Item.objects.get(tag="HT-3").state == State.LOST
    assert StockTake.objects.get().closed_by == "sal"
    assert prove_ledger().fault is None
