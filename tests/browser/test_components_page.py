"""The page of all components, in all looks: what is amiss with a part is found here before it is on every screen."""

import pytest

from kit.models import Role
from tests.browser.looks import faults_in_all_looks
from tests.kit.views.yard import person, yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("language", ["en", "de"])
def test_all_components_in_all_looks(each_page, sign_in, assert_accessible, live_server, language) -> None:
    sign_in(each_page, person(Role.STORES, yard().north))
    each_page.context.add_cookies([{"name": "django_language", "value": language, "url": live_server.url}])
    each_page.goto("/components/")
    height = each_page.evaluate("document.documentElement.scrollHeight")
    each_page.set_viewport_size({"width": each_page.viewport_size["width"], "height": height})
    assert faults_in_all_looks(each_page, assert_accessible) == []


def test_what_can_be_pressed_is_large_enough_and_shows_the_focus(each_page, sign_in) -> None:
    sign_in(each_page, person(Role.STORES, yard().north))
    each_page.goto("/components/")
    small = each_page.evaluate(
        """() => [...document.querySelectorAll(".button, .tally, .chip, .parts a, input, select, textarea, summary")]
            .filter(part => part.checkVisibility() && !part.matches(".visually-hidden, [type=hidden]"))
            .map(part => [part.closest("label, .choice") || part, part])
            .map(([hit, part]) => [hit.getBoundingClientRect().height, part.outerHTML.slice(0, 100)])
            .filter(([height]) => height < 44)"""
    )
    assert small == []
    each_page.locator("main .button--primary").first.focus()
    seen = each_page.evaluate(
        """() => {
            const style = getComputedStyle(document.activeElement);
            return [style.outlineStyle, parseFloat(style.outlineWidth)];
        }"""
    )
    assert seen[0] != "none"
    assert seen[1] >= 2
