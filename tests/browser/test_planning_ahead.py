"""Planning ahead at both widths and by keyboard: readiness, the rearranged plan, a trial plan; read by axe."""

import pytest

from kit.models import Item, Reservation, Role, Standing, TrialPlan
from kit.stores import acting, quarantine, reserve
from tests.kit.views.yard import STORES, in_days, person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _answers(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def place():
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
    return made


def looks_right(page, assert_accessible) -> None:
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
    size = page.viewport_size
    page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    assert_accessible(page)
    page.set_viewport_size(size)


def test_readiness_is_asked_anew_by_keyboard(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.PLANNER, place.north))
    each_page.goto("/readiness/")
    each_page.get_by_role("img", name="Stops that could be mounted, day by day").wait_for()
    looks_right(each_page, assert_accessible)
    each_page.locator("form.filters summary").focus()
    each_page.keyboard.press("Enter")
    each_page.get_by_label("Bore, mm").fill("400")
    each_page.keyboard.press("Enter")
    each_page.get_by_role("paragraph").filter(has_text="On every day 0 stops.").wait_for()
    looks_right(each_page, assert_accessible)
    each_page.goto("/readiness/?bore_mm=")
    looks_right(each_page, assert_accessible)


def test_the_rearranged_plan_is_applied_after_asking(place, each_page, sign_in, assert_accessible):
    lost = Reservation.objects.filter(item__tag__startswith="NY-B").order_by("item__tag").first().item
    with acting(STORES) as act:
        quarantine(act, Item.objects.get(pk=lost.pk), "cut in the skirt")
    sign_in(each_page, person(Role.PLANNER, place.north))
    each_page.goto("/jobs/")
    each_page.get_by_role("link", name="Rearrange").click()
    each_page.get_by_text("Proven: no other choice is better.").wait_for()
    each_page.locator("details.sheet summary").first.focus()
    each_page.keyboard.press("Enter")
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("button", name="Apply this plan").click()
    each_page.get_by_role("dialog").get_by_role("button", name="Apply this plan").click()
    each_page.get_by_text("The plan is applied: 1 job has other promises.").wait_for()
    held = Reservation.objects.filter(standing=Standing.PROMISED, line__name="bags")
    assert held.count() == 4
    looks_right(each_page, assert_accessible)


def test_a_trial_plan_is_begun_and_worked_out(place, each_page, sign_in, assert_accessible):
    sign_in(each_page, person(Role.PLANNER, place.north))
    each_page.goto("/what-if/")
    looks_right(each_page, assert_accessible)
    each_page.get_by_label("Name of a new plan").fill("storm")
    each_page.keyboard.press("Enter")
    each_page.get_by_role("link", name="Add a job").click()
    each_page.get_by_label("Reference").fill("J/X")
    each_page.get_by_label("Load on").fill(in_days(8).isoformat())
    each_page.get_by_label("Return on").fill(in_days(10).isoformat())
    each_page.get_by_label("Arrangement").select_option("small flow stop")
    each_page.get_by_label("Bore, mm").fill("159.6")
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("button", name="Put it in the plan").click()
    each_page.get_by_role("rowheader", name="pieces short").wait_for()
    looks_right(each_page, assert_accessible)
    each_page.get_by_role("button", name="Take out").click()
    each_page.get_by_text("Nothing yet: both sides below are the same.").wait_for()
    assert TrialPlan.objects.get().changes == []
