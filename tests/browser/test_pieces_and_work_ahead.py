"""From a piece to its batch and its kind, and from a week ahead to its due list, at both widths; read by axe."""

import re

import pytest
from playwright.sync_api import expect

from kit.models import Role
from kit.stores import acting, quarantine, receive, reserve
from tests.kit.views.yard import STORES, bag, in_days, person, record_checks, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place():
    made = yard()
    with acting(STORES) as act:
        bags = receive(
            act, [bag(made.north, f"BT-{n}", batch="24-07", made_on=in_days(-300)) for n in range(6)]
        )
        record_checks(act, bags[:4], days_ago=30)
        record_checks(act, bags[4:], days_ago=3, verdict="fail")
        reserve(act, made.job)
        quarantine(act, bags[0], "cut in the skirt")
    return made


def looks_right(page, assert_accessible) -> None:
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
    size = page.viewport_size
    page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    assert_accessible(page)
    page.set_viewport_size(size)


def test_from_a_piece_to_its_batch_to_its_kind(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.CREW, place.north))
    each_page.goto("/items/BT-1/")
    expect(each_page.get_by_role("img", name="What is left of each date that limits it")).to_be_visible()
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("link", name="24-07").focus()
    each_page.keyboard.press("Enter")
    each_page.wait_for_url(re.compile("/batches/BT-1/$"))
    expect(each_page.get_by_text("2 of 6 tested pieces ever failed a check")).to_be_visible()
    expect(
        each_page.get_by_role("img", name="Share of tested pieces that ever failed a check")
    ).to_be_visible()
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("link", name="bag", exact=True).click()
    each_page.wait_for_url(re.compile("/kind/bag/$"))
    expect(each_page.get_by_role("link", name="24-07, Anvil & Sons", exact=True)).to_be_visible()
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("link", name=re.compile("set aside")).first.click()
    each_page.wait_for_url(re.compile("/register/"))
    expect(each_page.get_by_role("link", name="BT-0")).to_be_visible()


def test_a_week_ahead_leads_to_its_due_list(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.COMPLIANCE, place.north))
    each_page.goto("/inspections/due/")
    each_page.get_by_role("link", name="Work ahead by week").click()
    each_page.wait_for_url(re.compile("/due/weeks/$"))
    expect(each_page.get_by_role("img", name="What falls due, week by week")).to_be_visible()
    looks_right(each_page, assert_accessible)
    # One falls due in that week; the figure itself is the link.
    each_page.get_by_role("cell").get_by_role("link", name=re.compile("^1 ")).first.click()
    each_page.wait_for_url(re.compile("week="))
    expect(each_page.get_by_role("link", name="NY-B9")).to_be_visible()
    looks_right(each_page, assert_accessible)


def test_how_old_open_cases_are(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.COMPLIANCE, place.north))
    each_page.goto("/inspections/quarantine/")
    expect(each_page.get_by_role("img", name="Open cases by age in whole weeks")).to_be_visible()
    looks_right(each_page, assert_accessible)


def test_a_job_says_how_far_its_pieces_reach(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.PLANNER, place.north))
    each_page.goto(f"/jobs/{place.job.reference}/")
    section = each_page.get_by_role("region", name="How far its pieces reach")
    expect(section.get_by_role("paragraph").filter(has_text="gives out first.")).to_be_visible()
    looks_right(each_page, assert_accessible)
    piece = section.get_by_role("rowheader").first.get_by_role("link")
    tag = piece.inner_text()
    piece.focus()
    each_page.keyboard.press("Enter")
    each_page.wait_for_url(re.compile(f"/items/{tag}/$"))
