"""Setting up reminders and a calendar as a person would, at both widths: found from the menu, read by axe."""

import pytest
from django.test import Client

from tests.kit.views.holm import make_yard

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_person_makes_a_calendar_address_and_stops_the_mails(each_page, sign_in, assert_accessible) -> None:
    yard = make_yard()
    yard.receive("P-1", kind="pump", serial="1", passed=False)
    sign_in(each_page, yard.people["eve"])
    each_page.goto("/")
    each_page.locator("details.cover__who summary").click()
    each_page.get_by_role("link", name="Reminders and calendar").click()
    each_page.get_by_role("button", name="Make an address").click()
    url = each_page.get_by_label("Address to subscribe to").input_value()
    assert Client().get(url).status_code == 200
    assert_accessible(each_page)
    wide = each_page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0
    each_page.get_by_role("button", name="Stop them").click()
    each_page.get_by_text("You get no more reminders of Holm by mail.").wait_for()
    assert_accessible(each_page)
    # What ends the present address is asked about first.
    each_page.get_by_role("button", name="Revoke it").click()
    each_page.get_by_role("dialog").get_by_role("button", name="Revoke it").click()
    each_page.get_by_text("opens no more under its address").wait_for()
    assert Client().get(url).status_code == 404
