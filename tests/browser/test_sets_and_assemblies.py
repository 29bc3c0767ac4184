"""Sets and coupled lines with scanner and keyboard only: made up, seen on a job, taken apart; an arrangement set."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from kit.models import Arrangement, Item, Role
from kit.stores import (
    Instead,
    LineSpec,
    Who,
    acting,
    plan_job,
    prove_ledger,
    reserve,
    set_arrangement,
    specs_of,
)
from tests.browser.test_transfer_between_depots import look_at, scan
from tests.kit.views.yard import Yard, job_of, kind, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def made(db) -> Yard:
    return yard()


def follow(page: Page, role: str, name: str) -> None:
    """Press what has that role and name by keyboard."""
    page.get_by_role(role, name=name).focus()  # type: ignore[arg-type]
    page.keyboard.press("Enter")


def test_a_set_is_scanned_together_seen_on_its_job_and_taken_apart(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable, assert_accessible: Callable, screen: dict
) -> None:
    page = open_page(screen)
    sign_in(page, person(Role.STORES, made.north, name="w.hollis"))
    page.goto("/items/NY-B1/")
    follow(page, "link", "Make up a set")
    page.wait_for_url("**/acts/bind/NY-B1/")
    expect(page.get_by_label("Name of the set")).to_be_focused()
    page.keyboard.type("Weir set")
    page.keyboard.press("Tab")
    for tag in ("NY-B2", "NY-S1", "NY-XX"):
        scan(page, tag)
    page.keyboard.press("Tab")
    scan(page, "mounted for Weir Lane")
    expect(page.get_by_role("alert")).to_contain_text("No piece at North yard has the tag NY-XX")
    look_at(page, assert_accessible)
    page.get_by_label("What goes with it").focus()
    page.keyboard.press("Control+End")
    for _letter in "NY-XX\n":
        page.keyboard.press("Backspace")
    follow(page, "button", "Make up a set")
    page.wait_for_url("**/items/NY-B1/")
    expect(page.get_by_role("status").first).to_contain_text("are a set now")
    expect(page.get_by_role("heading", name="Its set: Weir set")).to_be_visible()
    look_at(page, assert_accessible)
    follow(page, "link", "All of it in the register")
    page.wait_for_url("**/register/?depot=NY&set=Weir%20set")
    expect(page.get_by_role("row")).to_have_count(4)
    look_at(page, assert_accessible)

    with acting(Who("p.lane", "test")) as act:
        reserve(act, made.job)
    for address in ("/jobs/J%2F26-104/", "/load-list/J%2F26-104/"):
        page.goto(address)
        expect(page.get_by_text("Of the set Weir set")).to_have_count(3)
        look_at(page, assert_accessible)

    page.goto("/items/NY-S1/")
    follow(page, "link", "Take its set apart")
    page.wait_for_url("**/acts/part-set/NY-S1/")
    expect(page.locator("main textarea, main input[type=text]").first).to_be_focused()
    page.keyboard.type("the tube leaks")
    look_at(page, assert_accessible)
    follow(page, "button", "Take its set apart")
    page.wait_for_url("**/items/NY-S1/")
    expect(page.get_by_text("Set Weir set taken apart: NY-B1, NY-B2, NY-S1; the tube leaks.")).to_be_visible()
    assert not Item.objects.exclude(set_name="").exists()
    assert prove_ledger().fault is None


def test_an_arrangement_is_coupled_by_keyboard_and_its_job_tells_it(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable, assert_accessible: Callable, screen: dict
) -> None:
    with acting(Who("p.lane", "test")) as act:
        lines = [LineSpec("heads", kind("bagging head"), 2), LineSpec("bases", kind("base"), 2, "mark")]
        arrangement, _new = set_arrangement(act, "head stop", lines)
    page = open_page(screen)
    sign_in(page, person(Role.PLANNER, made.north, name="p.lane"))
    page.goto(f"/arrangements/{arrangement.pk}/next/")
    for n in (1, 2):
        further = page.get_by_text(f"Side, assembly, what may stand in on line {n}", exact=True)
        further.focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        expect(page.get_by_label("Assembly").nth(n - 1)).to_be_focused()
        page.keyboard.type("Head unit" if n == 1 else "head unit")
    page.keyboard.press("Tab")
    page.keyboard.type("vent head")  # a select goes to what is typed
    page.keyboard.press("Tab")
    page.keyboard.type("with an adapter")
    look_at(page, assert_accessible)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What it touches")).to_be_focused()
    look_at(page, assert_accessible)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: "/next/" not in url)
    expect(
        page.get_by_text("Assembly Head unit: 1 to each of 2 units, whose pieces share a mark.")
    ).to_have_count(2)
    expect(page.get_by_text("May stand in: vent head (with an adapter).")).to_be_visible()
    look_at(page, assert_accessible)
    current = Arrangement.objects.get(name="head stop", current=True)
    heads, bases = specs_of(current)
    assert heads.assembly == bases.assembly == "Head unit"
    assert bases.instead == (Instead(kind("vent head"), "with an adapter"),)

    with acting(Who("p.lane", "test")) as act:
        plan_job(act, job_of(made.north, current, "J-heads"))
    page.goto("/jobs/J-heads/")
    expect(page.get_by_text("May stand in: vent head.")).to_be_visible()
    look_at(page, assert_accessible)
