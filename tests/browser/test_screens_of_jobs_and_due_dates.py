"""Screens of jobs, papers, due dates, checks and loading: read by axe at both widths, and walked as people do."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from kit.models import Arrangement, Item, Kind, Reservation, Role, Standing
from kit.stores import acting, finish_issue, issue_piece, plan_job, quarantine, reserve
from tests.kit.views.yard import STORES, Yard, bag, in_days, job_of, person, receive, yard
from tests.kit.workbooks.files import xlsx

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place() -> Yard:
    """A yard with a broken promise, a short job, one that is out, and what is overdue and never done."""
    place = yard()
    with acting(STORES) as act:
        reserve(act, place.job)
        large = Arrangement.objects.filter(source__contains="common practice").order_by("name")[1]
        short = plan_job(act, job_of(place.north, large, "J-2207", 30, 36))
        reserve(act, short)
        out = plan_job(act, job_of(place.north, place.arrangement, "J-2190", 0, 2))
        receive(act, [bag(place.north, "NEW-1"), bag(place.north, "OLD-1", use_by=in_days(-3))])
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
        reserve(act, out)
    with acting(STORES) as act:
        for row in Reservation.objects.filter(job=out, standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, out, row.item)
        finish_issue(act, out, "agreed with the duty manager")
    return place


def first_promise() -> int:
    return Reservation.objects.filter(standing=Standing.PROMISED, counted=False).earliest("pk").pk


ADDRESSES = {
    "jobs": lambda: reverse("jobs"),
    "plan a job": lambda: reverse("plan_job"),
    "job": lambda: reverse("job", args=["J/26-104"]),
    "short job": lambda: reverse("job", args=["J-2207"]),
    "job that is out": lambda: reverse("job", args=["J-2190"]),
    "change": lambda: reverse("change_job", args=["J-2207"]),
    "why": lambda: reverse("cancel_job", args=["J-2207"]),
    "substitute": lambda: reverse("substitute", args=[first_promise()]),
    "load list": lambda: reverse("load_list", args=["J/26-104"]),
    "arrangements": lambda: reverse("arrangements"),
    "arrangement": lambda: reverse("arrangement", args=[Arrangement.objects.earliest("pk").pk]),
    "next arrangement": lambda: reverse("next_arrangement", args=[Arrangement.objects.earliest("pk").pk]),
    "places": lambda: reverse("places"),
    "due list": lambda: f"{reverse('due')}?within=60&depot=NY",
    "load register": lambda: reverse("load_register"),
}
OF_THE_COMPLIANCE_LEAD = {
    "kinds": lambda: reverse("kinds"),
    "kind": lambda: reverse("kind", args=[Kind.objects.get(name="bag").pk]),
    "new kind": lambda: reverse("new_kind"),
    "checks": lambda: reverse("kind_checks", args=[Kind.objects.get(name="bag").pk]),
}


def read_whole(page: Page, address: str) -> None:
    """Open a page in a window as high as itself, so that the bar for thumbs covers none of it."""
    page.goto(address)
    high = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": page.viewport_size["width"], "height": high})


@pytest.mark.parametrize("role", [Role.STORES, Role.COMPLIANCE])
def test_every_screen_meets_wcag_and_is_no_wider_than_its_window(
    each_page, sign_in, assert_accessible, place, role
):
    sign_in(each_page, person(role, place.north))
    height = each_page.viewport_size["height"]
    for name, address in (ADDRESSES if role == Role.STORES else OF_THE_COMPLIANCE_LEAD).items():
        each_page.set_viewport_size({"width": each_page.viewport_size["width"], "height": height})
        read_whole(each_page, address())
        expect(each_page.locator("h1")).not_to_be_empty()
        assert_accessible(each_page)
        wide = each_page.evaluate("document.documentElement.scrollWidth")
        assert wide <= each_page.viewport_size["width"], f"{name} is {wide} px wide"


def test_a_broken_promise_is_mended_by_one_press(page, sign_in, place):
    sign_in(page, person(Role.PLANNER, place.north))
    page.goto(reverse("job", args=["J/26-104"]))
    expect(page.get_by_role("heading", name="No longer holds")).to_be_visible()
    page.get_by_role("button", name="Reserve the best choice").click()
    expect(page.locator("#messages")).to_contain_text("the kit is complete")
    expect(page.get_by_role("heading", name="No longer holds")).to_have_count(0)
    assert not Reservation.objects.filter(job=place.job, standing=Standing.BROKEN).exists()


def test_the_chosen_rows_come_as_a_file(each_page, sign_in, place, tmp_path):
    sign_in(each_page, person(Role.COMPLIANCE, place.north))
    each_page.goto(reverse("due"))
    each_page.get_by_label("Choose all on this page").check()
    expect(each_page.locator("[data-chosen-count]")).to_contain_text(" chosen")
    with each_page.expect_download() as given:
        each_page.get_by_role("button", name="Spreadsheet of the chosen").click()
    assert given.value.suggested_filename.startswith("due_list_")
    assert Path(given.value.path()).read_bytes()[:2] == b"PK"


def test_a_load_list_prints_on_a4_with_a_code_for_each_piece(page, sign_in, place):
    sign_in(page, person(Role.CREW, place.north))
    page.goto(reverse("load_list", args=["J/26-104"]))
    page.emulate_media(media="print")
    codes = page.locator("img.qr")
    assert codes.count() == 6
    # 18 mm at 96 px an inch, and drawn: a picture that the content security policy refused has no width.
    for number in range(codes.count()):
        box = codes.nth(number).bounding_box()
        assert 60 < box["width"] < 75
        assert codes.nth(number).evaluate("picture => picture.complete && picture.naturalWidth > 0")
    expect(page.get_by_role("button", name="Print")).not_to_be_visible()


def test_a_register_is_seen_and_then_loaded(each_page, sign_in, place, tmp_path, settings, monkeypatch):
    settings.MEDIA_ROOT = tmp_path / "uploads"
    monkeypatch.setattr("kit.views.load_register.IN_REQUEST_BYTES", 0)
    sign_in(each_page, person(Role.STORES, place.north))
    rows = [(f"NEW-{n}", "pump", "NY") for n in range(100, 400)]
    path = xlsx(tmp_path / "more.xlsx", {"Items": [("tag", "kind", "depot"), *rows]})
    each_page.goto(reverse("load_register"))
    each_page.get_by_label("Register workbook").set_input_files(path)
    each_page.get_by_role("button", name="See what it would do").click()
    go_on(each_page)
    expect(each_page.get_by_text("Nothing is written yet")).to_be_visible()
    assert not Item.objects.filter(tag="NEW-100").exists()
    each_page.get_by_role("button", name="Load this file").click()
    go_on(each_page)
    expect(each_page.get_by_text("The register is loaded: 300 new")).to_be_visible()
    assert Item.objects.filter(tag__startswith="NEW-", kind__name="pump").count() == 300


def go_on(page: Page) -> None:
    """Wait for the work behind the progress bar, if it has not ended already."""
    if page.locator("[data-progress-url]").count():
        page.get_by_role("link", name="See the outcome").click(timeout=30_000)
