"""The plan board in hand: moved by keyboard alone and by mouse, what gives is told, one press moves; read by axe."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from kit.models import Job, LedgerEntry, Role
from kit.stores import acting, finish_issue, issue_piece, plan_job, quarantine, reserve
from tests.browser.test_screens_of_jobs_and_due_dates import read_whole
from tests.kit.views.yard import STORES, Yard, in_days, job_of, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place() -> Yard:
    """A job with all its kit in a week, one beside it that finds too little, one that is out."""
    made = yard()
    with acting(STORES) as act:
        out = plan_job(act, job_of(made.north, made.arrangement, "J-out", 0, 2))
        reserve(act, out)
        reserve(act, made.job)
        beside = job_of(made.north, made.arrangement, "J-beside", 9, 10)
        beside.crew = "Crew Breck"
        reserve(act, plan_job(act, beside))
    with acting(STORES) as act:
        for row in out.reservations.select_related("item"):
            issue_piece(act, out, row.item)
        finish_issue(act, out)
    return made


def open_board(page: Page, sign_in, place: Yard, role: str = Role.PLANNER) -> None:
    sign_in(page, person(role, place.north))
    page.goto(reverse("plan_board"))


def bar(page: Page, reference: str) -> Locator:
    return page.locator(f'[data-bar="{reference}"]')


def days_of(reference: str) -> tuple[date, date]:
    job = Job.objects.get(reference=reference)
    return job.load_on, job.return_on


def focused_bar(page: Page) -> str:
    return page.evaluate("document.activeElement.dataset.bar ?? ''")


def tab_to(page: Page, reference: str) -> None:
    for _ in range(60):
        if focused_bar(page) == reference:
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{reference} is not reached by Tab")


def test_a_job_is_moved_by_the_keyboard_alone(page, sign_in, place):
    open_board(page, sign_in, place)
    tab_to(page, "J/26-104")
    entries = LedgerEntry.objects.count()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowLeft")
    expect(page.locator("[data-board-says]")).to_contain_text("J/26-104")
    gives = page.locator("[data-gives]")
    # By itself, once the keys are still.
    expect(gives).to_contain_text("would be whole")
    expect(gives).to_contain_text("Comes free")
    expect(gives).to_contain_text("J-beside")
    expect(page.locator("[data-board-says]")).to_contain_text("would be whole")
    assert focused_bar(page) == "J/26-104"
    assert LedgerEntry.objects.count() == entries
    assert days_of("J/26-104") == (in_days(7), in_days(12))
    page.keyboard.press("Enter")
    expect(gives.get_by_role("button", name="Move J/26-104")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#messages")).to_contain_text("J/26-104 is moved")
    assert days_of("J/26-104") == (in_days(11), in_days(15))


def test_escape_puts_it_back_from_the_bar_and_from_the_panel(page, sign_in, place):
    open_board(page, sign_in, place)
    tab_to(page, "J/26-104")
    left = bar(page, "J/26-104").bounding_box()["x"]
    page.keyboard.press("ArrowRight")
    assert bar(page, "J/26-104").bounding_box()["x"] > left + 10
    page.keyboard.press("Escape")
    assert bar(page, "J/26-104").bounding_box()["x"] == pytest.approx(left, abs=1)
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Move J/26-104")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.locator("[data-gives]")).to_have_count(0)
    assert focused_bar(page) == "J/26-104"
    assert days_of("J/26-104") == (in_days(7), in_days(12))


def test_a_job_that_is_out_moves_its_return_only(page, sign_in, place):
    open_board(page, sign_in, place)
    tab_to(page, "J-out")
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    # It runs into the job after it: what breaks is told before anything is done.
    expect(page.locator("[data-gives]")).to_contain_text("break")
    page.get_by_role("button", name="Move J-out").press("Enter")
    expect(page.locator("#messages")).to_contain_text("J-out is moved")
    assert days_of("J-out") == (in_days(0), in_days(8))


def drag(page: Page, handle: Locator, days: int, at_end: bool = False) -> None:
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    width = page.locator(".board__day").first.bounding_box()["width"]
    x = box["x"] + (box["width"] - 5 if at_end else box["width"] / 2)
    y = box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + days * width / 2, y, steps=3)
    page.mouse.move(x + days * width, y, steps=3)
    page.mouse.up()


def test_a_bar_is_dragged_and_so_is_its_end(page, sign_in, place):
    open_board(page, sign_in, place)
    drag(page, bar(page, "J/26-104"), 3)
    gives = page.locator("[data-gives]")
    expect(gives).to_contain_text("would be whole")
    gives.get_by_role("button", name="Move J/26-104").click()
    expect(page.locator("#messages")).to_contain_text("J/26-104 is moved")
    assert days_of("J/26-104") == (in_days(10), in_days(15))
    drag(page, bar(page, "J/26-104"), -2, at_end=True)
    page.get_by_role("button", name="Move J/26-104").click()
    expect(page.locator("#messages")).to_contain_text("J/26-104 is moved")
    assert days_of("J/26-104") == (in_days(10), in_days(13))


def test_a_drag_is_put_back_by_the_button_and_a_second_bar_takes_over(page, sign_in, place):
    open_board(page, sign_in, place)
    drag(page, bar(page, "J/26-104"), 3)
    expect(page.locator("[data-gives]")).to_contain_text("J/26-104")
    drag(page, bar(page, "J-beside"), 4)
    expect(page.locator("[data-gives]")).to_have_count(1)
    expect(page.locator("[data-gives]")).to_contain_text("J-beside loading")
    page.get_by_role("button", name="Put it back").click()
    expect(page.locator("[data-gives]")).to_have_count(0)
    assert days_of("J/26-104") == (in_days(7), in_days(12))
    assert days_of("J-beside") == (in_days(9), in_days(10))


def test_a_finger_drags_a_bar_on_a_tablet(open_page, sign_in, place):
    """Pointer events of a touch, as the browser makes them from touch points."""
    tablet = {"viewport": {"width": 1024, "height": 768}, "has_touch": True, "is_mobile": True}
    page = open_page(tablet)
    open_board(page, sign_in, place)
    handle = bar(page, "J/26-104")
    handle.scroll_into_view_if_needed()
    box = handle.bounding_box()
    width = page.locator(".board__day").first.bounding_box()["width"]
    touch = page.context.new_cdp_session(page)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for part in (0.3, 0.6, 1):
        point = {"x": x + 2 * width * part, "y": y}
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    page.get_by_role("button", name="Move J/26-104").click()
    expect(page.locator("#messages")).to_contain_text("J/26-104 is moved")
    assert days_of("J/26-104") == (in_days(9), in_days(14))


def test_what_is_refused_and_what_is_lost_is_said(page, sign_in, place):
    open_board(page, sign_in, place)
    tab_to(page, "J-beside")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Shift+ArrowLeft")
    # One day is the least: its return stays on its loading day.
    expect(page.locator("[data-gives]")).to_contain_text("J-beside loading")
    page.keyboard.press("Escape")
    page.context.set_offline(True)
    page.keyboard.press("ArrowRight")
    expect(page.locator(".board__gives")).to_contain_text("no signal")
    assert days_of("J-beside") == (in_days(9), in_days(10))


def test_on_a_phone_days_are_listed_and_a_job_is_moved_without_bars(phone_page, sign_in, place):
    page = phone_page
    open_board(page, sign_in, place)
    expect(page.locator("[data-board]")).not_to_be_visible()
    expect(page.get_by_role("heading", name="Day by day")).to_be_visible()
    expect(page.locator(".board-days")).to_contain_text("J/26-104")
    expect(page.locator(".board-days")).to_contain_text("lacking")
    page.get_by_role("link", name="Move J/26-104").click()
    page.get_by_label("Load on").fill(in_days(20).isoformat())
    page.get_by_label("Return on").fill(in_days(25).isoformat())
    page.get_by_role("button", name="See what gives").click()
    expect(page.get_by_text("would be whole")).to_be_visible()
    page.get_by_role("button", name="Move J/26-104").click()
    expect(page.locator("#messages")).to_contain_text("J/26-104 is moved")
    assert days_of("J/26-104") == (in_days(20), in_days(25))
    expect(page.get_by_role("heading", name="Day by day")).to_be_visible()


def test_the_soonest_whole_day_comes_by_itself_and_one_press_takes_it(page, sign_in, place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    sign_in(page, person(Role.PLANNER, place.north))
    page.goto(reverse("breaks"))
    row = page.locator(".bites > li").filter(has_text="J-beside")
    row.scroll_into_view_if_needed()
    later = row.get_by_role("button", name="and it is whole")
    expect(later).to_contain_text("Load 4 days later")
    later.press("Enter")
    expect(page.locator("#messages")).to_contain_text("its kit is complete")
    assert days_of("J-beside") == (in_days(13), in_days(14))


@pytest.mark.parametrize("role", [Role.PLANNER, Role.CREW])
def test_every_screen_meets_wcag_and_is_no_wider_than_its_window(
    each_page, sign_in, assert_accessible, place, role
):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B2"), "torn skirt")
    sign_in(each_page, person(role, place.north))
    query = f"load_on={in_days(20)}&return_on={in_days(25)}"
    addresses = [
        reverse("plan_board"),
        reverse("plan_board") + "?by=crew",
        reverse("breaks"),
        reverse("crew_calendars"),
    ]
    if role == Role.PLANNER:
        addresses += [
            f"{reverse('move_job', args=['J-out'])}?{query}",
            reverse("soonest_whole", args=["J-beside"]),
        ]
    height = each_page.viewport_size["height"]
    for address in addresses:
        each_page.set_viewport_size({"width": each_page.viewport_size["width"], "height": height})
        read_whole(each_page, address)
        expect(each_page.locator("h1")).not_to_be_empty()
        assert_accessible(each_page)
        wide = each_page.evaluate("document.documentElement.scrollWidth")
        assert wide <= each_page.viewport_size["width"], f"{address} is {wide} px wide"


def test_the_panel_beneath_a_bar_meets_wcag_as_well(page, sign_in, assert_accessible, place):
    open_board(page, sign_in, place)
    tab_to(page, "J-out")
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    expect(page.locator("[data-gives]")).to_contain_text("break")
    high = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": 1280, "height": high})
    assert_accessible(page)


def test_each_bar_can_be_hit_with_a_glove(page, sign_in, place):
    open_board(page, sign_in, place)
    for one in page.locator("[data-bar]").all():
        box = one.bounding_box()
        assert box["height"] >= 44
        assert box["width"] >= 44
