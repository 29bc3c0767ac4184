"""Beside the van without signal: the list opens, what is entered is kept in the phone, and each entry arrives once and
only once, though the store's server is killed while they are being sent.
"""

from __future__ import annotations

import time

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import DESK, PHONE
from tests.browser.served_store import ARRIVED, Store, as_crew, at_the_van, until

pytestmark = pytest.mark.long

ENTRIES = 50
SERVER_KILLED = 2


def press(page: Page, what: str, most: int) -> int:
    """Press that button of as many pieces as there are, at most `most`; how many it were."""
    buttons = page.locator(f'[data-say="{what}"]')
    number = min(buttons.count(), most)
    for n in range(number):
        buttons.nth(n).click()
    return number


def test_fifty_entries_arrive_once_though_the_server_is_killed_twice(browser: Browser, store: Store) -> None:
    page = as_crew(browser, store)
    at_the_van(page)
    store.kill()
    page.reload()
    expect(page.locator("[data-van-age]")).to_contain_text("old")
    made = press(page, "seen", ENTRIES)
    while made < ENTRIES:
        made += press(page, "passed", ENTRIES - made)
    expect(page.locator("[data-van-waiting]")).to_contain_text(f"{ENTRIES} not sent yet")
    page.reload()  # they are kept by the phone, not by the page
    expect(page.locator("[data-van-waiting]")).to_contain_text(f"{ENTRIES} not sent yet")

    kills = 0

    def kill_while_it_works(request) -> None:
        nonlocal kills
        if request.url.endswith("/van/entries") and kills < SERVER_KILLED:
            kills += 1
            before = store.count(ARRIVED)
            give_up = time.monotonic() + 20
            while store.count(ARRIVED) == before and time.monotonic() < give_up:
                time.sleep(0.005)
            store.kill()  # in the middle of the ten: some are taken in, and the phone has no answer for any

    page.on("request", kill_while_it_works)
    for wanted in range(1, SERVER_KILLED + 1):
        store.start()
        page.locator("[data-van-send]").click()
        until(page, lambda wanted=wanted: kills >= wanted)
        until(page, lambda: "No answer" in page.locator("[data-van-said]").inner_text())
        assert 0 < store.count(ARRIVED) < ENTRIES, "the server was to be killed while it took them in"
        expect(page.locator("[data-van-waiting]")).to_contain_text(f"{ENTRIES} not sent yet")
    store.start()
    page.locator("[data-van-send]").click()
    expect(page.locator("[data-van-waiting]")).to_contain_text("All sent", timeout=60_000)

    assert store.count(ARRIVED) == ENTRIES
    assert store.count("select count(distinct uid) from kit_vanentry") == ENTRIES
    assert store.count("select count(*) from kit_ledgerentry where deed = 'van'") == ENTRIES
    assert store.proves()
    page.context.close()


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["1280px", "390px"])
def test_a_failure_and_a_spare_are_entered_by_keyboard_and_a_conflict_is_shown(
    browser: Browser, store: Store, assert_accessible, screen
) -> None:
    page = as_crew(browser, store, screen)
    at_the_van(page)
    bags = page.locator('[data-piece][data-kind="bag"]')
    first, second = (bags.nth(n).get_attribute("data-piece") for n in range(2))
    page.context.set_offline(True)
    bags.nth(0).locator("summary").focus()
    page.keyboard.press("Enter")
    failed = bags.nth(0).locator('[data-say="failed"]')
    failed.focus()
    page.keyboard.press("Enter")
    expect(page.locator("#van-dialog")).to_be_visible()
    assert_accessible(page)
    page.fill("#van-note", "seam lets go at 0.15 bar")
    page.locator("#van-dialog").get_by_role("button", name="Keep it").click()
    expect(bags.nth(0)).to_contain_text("not sent yet")
    bags.nth(0).locator('[data-say="swapped"]').click()
    page.locator("#van-spare").select_option(second)
    page.locator("#van-dialog").get_by_role("button", name="Keep it").click()
    expect(bags.nth(0)).to_contain_text(f"({second})")
    bags.nth(0).locator('[data-say="passed"]').click()
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    page.context.set_offline(False)
    expect(page.locator("[data-van-waiting]")).to_contain_text("All sent", timeout=30_000)
    # Set aside by the first entry, so that nobody passes it any more: a person settles that.
    expect(bags.nth(0)).to_contain_text("for the stores to settle")
    assert store.count("select count(*) from kit_item where state = 'quarantined' and tag = ?", first) == 1
    size = page.viewport_size
    page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    assert_accessible(page)
    page.context.close()


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["1280px", "390px"])
def test_what_a_closed_page_kept_goes_to_the_store_from_the_next_page(
    browser: Browser, store: Store, assert_accessible, screen
) -> None:
    page = as_crew(browser, store, screen)
    at_the_van(page)
    page.context.set_offline(True)
    assert press(page, "seen", 3) == 3
    expect(page.locator("[data-van-waiting]")).to_contain_text("3 not sent yet")
    page.close()
    page.context.set_offline(False)
    other = page.context.new_page()
    # The first try finds no answer, and the entries stay.
    other.route("**/van/entries", lambda route: route.abort())
    other.goto(f"{store.base}/")
    notice = other.locator("#van-waiting")
    expect(notice).to_contain_text("not with the store yet: 3")
    assert_accessible(other)
    assert store.count(ARRIVED) == 0
    other.unroute("**/van/entries")
    other.goto(f"{store.base}/words/")
    expect(notice).to_contain_text("with the store now: 3", timeout=30_000)
    assert store.count(ARRIVED) == 3
    other.goto(f"{store.base}/")
    expect(other.locator("h1")).to_be_visible()
    expect(notice).to_be_hidden()
    assert store.count(ARRIVED) == 3
    other.context.close()
