"""A set of which one piece is scanned: the counter says what is still here, at once and on both widths."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from kit.models import Item, Role
from kit.stores import Who, acting, bind_set, reserve
from tests.browser.test_transfer_between_depots import look_at
from tests.kit.views.yard import Yard, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def made(db) -> Yard:
    return yard()


def test_the_warning_comes_with_the_first_piece_and_goes_with_the_last(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable, assert_accessible: Callable, screen: dict
) -> None:
    with acting(Who("p.lane", "test")) as act:
        reserve(act, made.job)
        tags = list(
            made.job.reservations.filter(counted=False).order_by("pk").values_list("item__tag", flat=True)
        )[:2]
        bind_set(act, "Weir set", list(Item.objects.filter(tag__in=tags)), "mounted together")
    page = open_page(screen)
    sign_in(page, person(Role.STORES, made.north, name="w.hollis"))
    page.goto(f"/counter/issue/{made.job.reference}/")
    lists = page.locator("#issue-lists")
    for tag in tags:
        expect(page.locator(":focus")).to_have_attribute("name", "code")
        page.keyboard.type(tag)
        page.keyboard.press("Enter")
        if tag == tags[0]:
            expect(lists).to_contain_text(f"Weir set goes as a whole; still here: {tags[1]}.")
            look_at(page, assert_accessible)
    expect(lists).not_to_contain_text("goes as a whole")
