"""A consignment with scanner and keyboard only: scanned together at one depot, signed for at the other."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from kit.models import Arrival, Custody, Item, Role, Transfer
from kit.stores import Who, acting, prove_ledger, set_link
from tests.browser.scanner import scan
from tests.kit.views.yard import Yard, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def made(db) -> Yard:
    built = yard()
    with acting(Who("p.lane", "test")) as act:
        set_link(act, built.north, built.mill, 2)
    return built


def look_at(page: Page, assert_accessible: Callable[[Page], None]) -> None:
    """No wider than the screen, and accessible."""
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0, f"{page.url} is {wide} px wider than the screen"
    # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
    size = page.viewport_size
    assert size is not None
    height = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": size["width"], "height": height})
    assert_accessible(page)
    page.set_viewport_size(size)


def test_scanned_sent_and_signed_for_with_two_signatures(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable, assert_accessible: Callable, screen: dict
) -> None:
    sender, taker = open_page(screen), open_page(screen)
    sign_in(sender, person(Role.STORES, made.north, name="w.hollis"))
    sign_in(taker, person(Role.STORES, made.mill, name="m.orr"))

    sender.goto("/send/")
    expect(sender.locator("#scan-code")).to_be_focused()
    for tag in ("NY-B1", "NY-B1", "NY-S1", "LOT-7"):
        scan(sender, tag)  # the second of two scans at once is ignored
    expect(sender.get_by_role("heading", name="3 in the list")).to_be_visible()
    assert "scanned twice" not in sender.locator("#refused").inner_text()
    scan(sender, "NOT-OURS")
    expect(sender.locator("#refused")).to_contain_text("No item has the tag NOT-OURS")
    sender.get_by_label("How many of LOT-7 go, of 20").fill("8")
    sender.keyboard.press("Enter")
    expect(sender.locator("#answers")).to_contain_text("8 of LOT-7 go with it.")
    look_at(sender, assert_accessible)
    sender.get_by_label("Carried by").focus()
    sender.keyboard.type("Thursday van")
    sender.keyboard.press("Enter")
    sender.wait_for_url("**/transfers/1/")
    expect(sender.get_by_role("status").first).to_contain_text(
        "T1 is on its way to Mill bank with 3 pieces and lots"
    )
    look_at(sender, assert_accessible)

    taker.goto("/")
    expect(taker.locator("#arriving")).to_be_visible()
    taker.goto("/transfers/")
    expect(taker.locator("#scan-code")).to_be_focused()
    look_at(taker, assert_accessible)
    scan(taker, "TRANSFER 1")  # what the QR code of the note reads
    taker.wait_for_url("**/transfers/1/arrival/")
    expect(taker.locator("#scan-code")).to_be_focused()
    scan(taker, "NY-B2")
    expect(taker.locator("#refused")).to_contain_text("belongs to North yard")
    scan(taker, "NY-B1")
    expect(taker.locator("#answers")).to_contain_text("NY-B1 is here: 2 still to come")
    scan(taker, "LOT-7/MB")
    expect(taker.locator("#answers")).to_contain_text("8 of LOT-7/MB were sent. Count them, then sign.")
    look_at(taker, assert_accessible)
    taker.get_by_label("How many of LOT-7/MB are here").focus()
    taker.keyboard.type("8")
    taker.keyboard.press("Enter")
    expect(taker.get_by_role("heading", name="2 signed for")).to_be_visible()
    taker.get_by_role("link", name="Not here NY-S1").focus()
    taker.keyboard.press("Enter")
    taker.wait_for_url("**/transfers/1/*/")
    taker.get_by_label("What was found").fill("not in the crate, driver asked")
    look_at(taker, assert_accessible)
    taker.get_by_role("button", name="Not in the consignment").focus()
    taker.keyboard.press("Enter")
    taker.wait_for_url("**/transfers/1/")
    expect(taker.get_by_role("status").first).to_contain_text("NY-S1 is noted as missing")

    outcomes = dict(Transfer.objects.get().lines.values_list("item__tag", "outcome"))
    assert outcomes == {"NY-B1": Arrival.ARRIVED, "LOT-7/MB": Arrival.ARRIVED, "NY-S1": Arrival.MISSING}
    assert Item.objects.get(tag="NY-B1").custody == Custody.STORE
    assert prove_ledger().fault is None


def test_all_at_once_is_asked_first_and_the_sender_is_not(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable, assert_accessible: Callable, screen: dict
) -> None:
    sender, taker = open_page(screen), open_page(screen)
    sign_in(sender, person(Role.STORES, made.north, name="w.hollis"))
    sign_in(taker, person(Role.STORES, made.mill, name="m.orr"))
    sender.goto("/send/MB/")
    for tag in ("NY-B1", "NY-B2"):
        scan(sender, tag)
    expect(sender.get_by_role("heading", name="2 in the list")).to_be_visible()
    sender.get_by_role("button", name="Send all of it").press("Enter")
    sender.wait_for_url("**/transfers/1/")
    person(Role.STORES, made.mill, name="w.hollis")  # at both depots now, and still the sender
    sender.goto("/transfers/1/arrival/")
    expect(sender.get_by_text("somebody else must sign for its arrival")).to_be_visible()
    expect(sender.locator("#scan-code")).to_have_count(0)
    look_at(sender, assert_accessible)
    taker.goto("/transfers/1/arrival/")
    taker.get_by_role("button", name="All 2 are here").press("Enter")
    expect(taker.get_by_role("dialog")).to_contain_text("Sign for all 2 in full")
    taker.get_by_role("dialog").get_by_role("button", name="Sign for all").press("Enter")
    taker.wait_for_url("**/transfers/1/")
    expect(taker.get_by_role("status").first).to_contain_text("2 pieces and lots of T1 are signed for")


def test_ways_and_bench_by_keyboard(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable, assert_accessible: Callable, screen: dict
) -> None:
    page = open_page(screen)
    sign_in(page, person(Role.PLANNER, made.north, name="p.lane"))
    page.goto("/ways/")
    look_at(page, assert_accessible)
    page.get_by_label("Inspections a day").fill("6")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_contain_text("The bench of North yard is recorded")
    page.get_by_label("Days").first.fill("")
    page.get_by_label("Days").first.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text(
        "Say why the way from North yard to Mill bank is withdrawn"
    )
    look_at(page, assert_accessible)
