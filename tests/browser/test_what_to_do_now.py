"""The page of the day on the demo, role by role at both widths: read by axe, one press each, for gloves."""

from urllib.parse import urlsplit

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long]

ROLES = ["stores", "crew", "planner", "examiner", "compliance", "duty manager"]


def test_each_role_is_told_what_to_do(each_page, demo, sign_in, assert_accessible):
    for role in ROLES:
        each_page.context.clear_cookies()
        sign_in(each_page, User.objects.filter(memberships__role=role).order_by("pk")[0])
        each_page.goto("/")
        # Nothing was asked of the duty manager of the first depot: the page says so, and what comes here.
        if role == "duty manager":
            expect(each_page.get_by_text("Nothing waits for you today")).to_be_visible()
        else:
            expect(each_page.get_by_role("heading", name="Now, in this order")).to_be_visible()
        assert_accessible(each_page)
        wide = each_page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{role}: {wide} px wider than the screen"
        steps = each_page.locator(".now__step")
        if role != "duty manager":
            assert steps.count(), f"{role} has nothing to do on the demo"
        for step in steps.all():
            presses = step.locator(".button")
            assert presses.count() <= 1
            for one in [*presses.all(), *step.locator("a.code").all()]:
                assert one.bounding_box()["height"] >= 44, one.inner_text()


def test_the_planner_mends_the_first_break_with_the_keyboard(each_page, demo, sign_in):
    sign_in(each_page, User.objects.filter(memberships__role="planner").order_by("pk")[0])
    each_page.goto("/")
    form = each_page.locator(".now__step form").first
    button = form.get_by_role("button")
    button.focus()
    expect(button).to_be_focused()
    each_page.keyboard.press("Enter")
    expect(each_page.locator("#messages .notice").first).to_be_visible()
    assert urlsplit(each_page.url).path == "/", "back on the page of the day"
    expect(each_page.get_by_role("heading", name="Now, in this order")).to_be_visible()
