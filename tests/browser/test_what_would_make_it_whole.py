"""What would make a job whole, by keyboard and at both widths: from the job to the move that frees a piece."""

from __future__ import annotations

import os

import pytest

from kit.models import Job, Role
from kit.stores import quarantine, set_link
from tests.browser.test_planning_ahead import looks_right
from tests.kit.stores.test_what_would_make_a_job_whole import clear, one_gauge
from tests.kit.views.holm import make_yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _answers(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def test_the_fewest_changes_are_read_and_done_by_keyboard(each_page, sign_in, assert_accessible):
    yard = make_yard()
    clear(yard)
    yard.appoint("pat", yard.holm, Role.EXAMINER)
    yard.receive("G-ONE")
    first = one_gauge(yard, "FIRST", load_in=4, days=3)
    yard.reserve(first)
    yard.receive("G-NEW", passed=False)
    yard.do(quarantine, yard.receive("G-ASIDE"), "dropped", who="sal")
    yard.receive("G-FAR", depot=yard.weir)
    yard.do(set_link, yard.weir, yard.holm, 1)
    one_gauge(yard, "SHORT", 5, load_in=6, days=2)
    sign_in(each_page, yard.people["pat"])
    each_page.goto("/jobs/SHORT/")
    panel = each_page.get_by_role("region", name="What would make it whole")
    panel.get_by_text("5 changes").wait_for()
    for said in ("Inspect G-NEW", "Bring G-FAR from", "Have G-ASIDE released", "Load FIRST 2 days earlier"):
        assert panel.get_by_text(said).count() == 1, said
    assert panel.get_by_text("Ask for 1 x gauge").count() == 1
    looks_right(each_page, assert_accessible)
    if folder := os.environ.get("FETTLEBOOK_LOOK"):
        panel.screenshot(path=f"{folder}/whole-{each_page.viewport_size['width']}.png")
    panel.locator("summary").focus()
    each_page.keyboard.press("Enter")
    panel.get_by_text("5 x gauge, fit through").wait_for()
    looks_right(each_page, assert_accessible)
    panel.get_by_role("link", name="See what gives FIRST").focus()
    each_page.keyboard.press("Enter")
    each_page.wait_for_url("**/move-job/FIRST/**")
    looks_right(each_page, assert_accessible)
    press = each_page.get_by_role("button", name="Move FIRST", exact=True)
    press.focus()
    each_page.keyboard.press("Enter")
    each_page.wait_for_url("**/jobs/SHORT/")
    assert Job.objects.get(reference="FIRST").load_on < first.load_on
    panel.get_by_text("4 changes").wait_for()
    panel.get_by_role("link", name="To the bench G-NEW").focus()
    each_page.keyboard.press("Enter")
    each_page.wait_for_url("**/record/G-NEW/**")
