"""A stock of labels is measured, seen drawn, recorded and printed on, by keyboard; labels come of rows ticked."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from kit.models import LabelPaper
from kit.stores import prove_ledger
from tests.browser.test_transfer_between_depots import look_at
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db(transaction=True)

ASKED = {
    "Name": "Twelve of 90 by 45",
    "Width of a label, mm": "90",
    "Height of a label, mm": "45",
    "Labels side by side": "2",
    "Labels below one another": "6",
    "From the left edge to the first label, mm": "15",
    "From the top edge to the first label, mm": "13.5",
    "From one column to the next, mm": "90",
    "From one row to the next, mm": "45",
}


@pytest.fixture
def made(db) -> Yard:
    made = make_yard()
    for tag in ("HT-1", "HT-2", "HT-3"):
        made.receive(tag, kind="hand tool", passed=False)
    return made


def test_a_stock_is_seen_drawn_and_then_recorded(
    made: Yard, each_page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    page = each_page
    sign_in(page, made.people["sal"])
    page.goto("/labels/stocks/")
    look_at(page, assert_accessible)
    page.get_by_role("link", name="Add a stock").press("Enter")
    page.wait_for_url("**/labels/stocks/new/")
    for label, value in ASKED.items():
        page.get_by_label(label, exact=True).fill(value)
    page.get_by_role("button", name="See it drawn").press("Enter")
    expect(page.get_by_role("img", name="12 labels of 90 × 45 mm")).to_be_visible()
    look_at(page, assert_accessible)
    page.get_by_role("button", name="Record").press("Enter")
    page.wait_for_url("**/labels/stocks/")
    expect(page.locator("#messages")).to_contain_text("is recorded")
    look_at(page, assert_accessible)
    assert LabelPaper.objects.get().rows == 6
    assert prove_ledger().fault is None


def test_labels_come_of_the_rows_ticked(
    made: Yard, each_page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    page = each_page
    sign_in(page, made.people["sal"])
    page.goto("/register/")
    for tag in ("HT-1", "HT-3"):
        page.get_by_role("checkbox", name=tag).check()
    page.get_by_role("button", name="Labels of the chosen").press("Enter")
    page.wait_for_url("**/labels/chosen/register/**")
    expect(page.get_by_label("Tags")).to_have_value("HT-1\nHT-3")
    look_at(page, assert_accessible)
