"""A quarantine case on a phone: the chain is looked at, what is to be considered is noted, and it is released."""

import re

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

from inspections.models import QuarantineCase
from kit.models import Item, State
from kit.stores import issue_piece, take_back
from tests.kit.views.holm import make_yard

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_case_from_open_to_released_with_gloves_on(phone_page, sign_in, assert_accessible) -> None:
    yard = make_yard()
    for tag in ("G-1", "G-2", "G-3"):
        yard.receive(tag, serial=tag, batch="L-9")
    job = yard.plan("J-1", yard.arrangement(lines=[("gauges", "gauge", 3)]))
    yard.reserve(job)
    for tag in ("G-1", "G-2", "G-3"):
        yard.do(issue_piece, job, Item.objects.get(tag=tag))
    yard.do(take_back, job.reservations.get(item__tag="G-1"), "damaged", who="sal", why="glass broken")
    case = QuarantineCase.objects.get()

    sign_in(phone_page, User.objects.get(username="lee"))
    for path in ("/", "/inspections/quarantine/", "/items/G-1/", f"/inspections/cases/{case.pk}/"):
        phone_page.goto(path)
        assert_accessible(phone_page)
        wide = phone_page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{path} is {wide} px wider than the phone"
    small = phone_page.evaluate(
        "[...document.querySelectorAll('main button, main a.button, main summary, main input[type=text]')]"
        ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.textContent.trim())"
    )
    assert small == []

    phone_page.get_by_role("button", name=re.compile("^Set aside as well.*G-2")).click()
    expect(phone_page.locator("#messages")).to_contain_text("G-2 is set aside")
    phone_page.get_by_role("button", name=re.compile("^Looked at, stays in use.*G-3")).click()
    expect(phone_page.locator("#messages")).to_contain_text("G-3 was looked at and stays in use")
    while (waiting := phone_page.locator("details[open] textarea[name^=notice-]")).count():
        left = waiting.count()
        waiting.first.fill("the operator was told by telephone")
        phone_page.get_by_role("button", name="Note it").first.click()
        expect(phone_page.locator("details[open] textarea[name^=notice-]")).to_have_count(left - 1)
    phone_page.get_by_role("link", name="Release", exact=True).click()
    phone_page.locator("textarea[name=findings]").fill("glass renewed")
    phone_page.get_by_role("button", name="Release it").click()
    phone_page.wait_for_url(re.compile("/items/G-1/"))
    assert Item.objects.get(tag="G-1").state == State.AVAILABLE
    assert Item.objects.get(tag="G-2").state == State.QUARANTINED
    phone_page.goto(f"/inspections/cases/{case.pk}/")
    assert_accessible(phone_page)
