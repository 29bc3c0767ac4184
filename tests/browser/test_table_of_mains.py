"""The table of mains in hand: a size is typed, looked at and recorded by keyboard at both widths; read by axe."""

from decimal import Decimal

import pytest

from kit.models import Job, PipeSize, Role, Standing
from kit.stores import acting, plan_job, reserve, set_size
from tests.kit.views.yard import STORES, job_of, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def place():
    made = yard()
    with acting(STORES) as act:
        set_size(act, "cast iron", "6 in", inside_mm=Decimal(160), source="survey of 1987")
        job = job_of(made.north, made.arrangement, "J-iron", 20, 22)
        job.main_material, job.main_size, job.main_sdr, job.bore_mm = "cast iron", "6 in", "", None
        reserve(act, plan_job(act, job))
    return made


def looks_right(page, assert_accessible) -> None:
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
    size = page.viewport_size
    page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    assert_accessible(page)
    page.set_viewport_size(size)


def test_a_size_is_changed_by_keyboard_after_a_look_at_what_it_moves(
    place, each_page, sign_in, assert_accessible
):
    page = each_page
    sign_in(page, person(Role.PLANNER, place.north))
    page.goto("/jobs/")
    page.get_by_role("link", name="Table of mains").click()
    page.get_by_role("link", name="Change cast iron 6 in").focus()
    looks_right(page, assert_accessible)
    page.keyboard.press("Enter")
    page.get_by_label("Inside diameter, mm").fill("149")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="4 promises break").wait_for()
    looks_right(page, assert_accessible)
    assert PipeSize.objects.get().inside_mm == 160
    page.get_by_role("button", name="Record").focus()
    page.keyboard.press("Enter")
    page.get_by_text("the main of 1 open job is another by it").wait_for()
    assert PipeSize.objects.get().inside_mm == 149
    broken = Job.objects.get(reference="J-iron").reservations.filter(standing=Standing.BROKEN)
    assert broken.count() == 4
    page.goto("/jobs/J-iron/")
    page.get_by_text("How this bore was reached").focus()
    page.keyboard.press("Enter")
    page.get_by_text("No bore was measured.").wait_for()
    looks_right(page, assert_accessible)
    page.goto("/mains/")
    page.get_by_role("link", name="Withdraw cast iron 6 in").click()
    page.get_by_label("Why").fill("another pipe was dug up")
    looks_right(page, assert_accessible)
    page.keyboard.press("Enter")
    page.get_by_text("The depot's own table is empty.").wait_for()
    looks_right(page, assert_accessible)
