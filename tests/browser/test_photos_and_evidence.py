"""From a piece to its photo, and from its figures to what proves them, by keyboard at both widths; read by axe."""

import re

import pytest
from playwright.sync_api import expect

from inspections.actions.attach import attach
from inspections.actions.cases import open_case
from kit.models import Role
from kit.stores import acting, finish_issue, issue_piece, quarantine, receive, reserve
from tests.browser.test_pieces_and_work_ahead import looks_right
from tests.inspections.views.test_photos_are_seen import PDF, picture
from tests.kit.views.yard import STORES, bag, in_days, person, record_checks, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place():
    made = yard()
    with acting(STORES) as act:
        bags = receive(
            act, [bag(made.north, f"BT-{n}", batch="24-07", made_on=in_days(-300)) for n in (1, 2)]
        )
        record_checks(act, bags[:1], days_ago=30)
        record_checks(act, bags[1:], days_ago=3, verdict="fail")
        quarantine(act, bags[0], "cut in the skirt")
        case = open_case(bags[0])
        attach(act, bags[0], "cut.jpg", picture(900, 600), case=case, note="Cut in the skirt, 40 mm long")
        attach(act, bags[0], "IMG_2.jpg", picture(600, 900, seed=9), case=case)
        record = bags[0].inspections.latest("pk")
        attach(act, bags[0], "paper.pdf", PDF, inspection=record)
        reserve(act, made.job)
    return made


def drawn(image) -> None:
    """The photo is really there, not only its words."""
    image.scroll_into_view_if_needed()
    expect(image).to_have_js_property("complete", True)
    assert image.evaluate("image => image.naturalWidth") > 100


def test_a_photo_is_seen_and_opens_by_keyboard(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.EXAMINER, place.north))
    each_page.goto("/items/BT-1/")
    small = each_page.get_by_role("img", name="Cut in the skirt, 40 mm long")
    drawn(small)
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("link", name="Cut in the skirt, 40 mm long").focus()
    each_page.keyboard.press("Enter")
    each_page.wait_for_url(re.compile(r"/photos/\d+/$"))
    drawn(each_page.get_by_role("img", name="Cut in the skirt, 40 mm long"))
    expect(each_page.get_by_role("definition").filter(has_text="w.hollis")).to_be_visible()
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("link", name="Newer photo").click()
    drawn(each_page.get_by_role("img", name=re.compile("nobody has said what it shows")))
    looks_right(each_page, assert_accessible)


def test_a_figure_leads_to_its_entry_and_a_share_to_its_pieces(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.COMPLIANCE, place.north))
    each_page.goto("/items/BT-1/")
    facts = each_page.get_by_role("region", name="What is recorded of it")
    facts.get_by_role("link", name=re.compile("20[0-9][0-9]$")).first.click()
    each_page.wait_for_url(re.compile(r"/ledger/\d+/$"))
    expect(each_page.get_by_text("Worked out anew just now")).to_be_visible()
    each_page.get_by_text("Its text, as it was marked").click()
    looks_right(each_page, assert_accessible)
    each_page.goto("/kind/bag/")
    expect(each_page.get_by_role("table", name="When its pieces run out, month by month")).to_be_visible()
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("link", name=re.compile("tested pieces ever failed")).click()
    expect(each_page.get_by_role("link", name="BT-2")).to_be_visible()
    looks_right(each_page, assert_accessible)


def test_what_is_out_says_with_what_and_its_job_how_far_it_reaches(
    place, each_page, sign_in, assert_accessible
):
    with acting(STORES) as act:
        for row in place.job.reservations.filter(standing="promised").select_related("item"):
            issue_piece(act, place.job, row.item)
        finish_issue(act, place.job, "as it is")
    sign_in(each_page, person(Role.STORES, place.north))
    each_page.goto("/items/NY-B1/")
    where = each_page.get_by_role("region", name="Where it is, and with what")
    expect(where.get_by_role("link", name="NY-S1")).to_be_visible()
    looks_right(each_page, assert_accessible)
    where.get_by_role("link", name="J/26-104").first.click()
    each_page.wait_for_url(re.compile("/jobs/"))
    expect(each_page.get_by_role("img", name="Until which return its pieces hold")).to_be_visible()
    expect(each_page.get_by_role("table", name="How far its pieces reach")).to_be_visible()
    looks_right(each_page, assert_accessible)
