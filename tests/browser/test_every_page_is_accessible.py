"""Every page that each of the six can reach on the demo: no dead end, nothing found by axe (WCAG 2.2 A and AA),
nothing wider than the screen, at a desk's and a phone's width.
"""

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command

from tests.browser.pages import walk

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long]

LEAST_PAGES = {"stores": 12, "crew": 5, "planner": 8, "examiner": 6, "compliance": 10, "duty manager": 5}


def test_all_pages_of_all_six_people(each_page, sign_in, assert_accessible) -> None:
    call_command("demo", no_serve=True)
    faults: list[str] = []
    for role, least in LEAST_PAGES.items():
        each_page.context.clear_cookies()
        sign_in(each_page, User.objects.filter(memberships__role=role).order_by("pk")[0])
        visited = 0
        for path in walk(each_page):
            visited += 1
            # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
            wide = each_page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
            if wide > 0:
                faults.append(f"{role} {path}: {wide} px wider than the screen")
            size = each_page.viewport_size
            each_page.set_viewport_size(
                {
                    "width": size["width"],
                    "height": each_page.evaluate("document.documentElement.scrollHeight"),
                }
            )
            try:
                assert_accessible(each_page)
            except AssertionError as found:
                faults.append(f"{role} {path}: {found}")
            each_page.set_viewport_size(size)
        assert visited >= least, f"{role} reached {visited} pages only"
    assert not faults, "\n".join(faults)
