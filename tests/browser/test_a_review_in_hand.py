"""A review at a desk and on a phone: found from the day's page, read by axe, decided with one press, and closed."""

import re

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

from inspections.actions.reviews import open_review
from inspections.models import ReviewedRecord
from kit.models import Role
from kit.stores import Who, acting, appoint
from tests.inspections.bad_gauge import make_store

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_review_from_the_day_to_its_conclusion(each_page, sign_in, assert_accessible) -> None:
    store = make_store(80, seed=13, bags=20)
    lee = User.objects.create_user("lee")
    with acting(Who("max", "test")) as act:
        appoint(act, lee, store.depot, Role.COMPLIANCE)
        review = open_review(act, store.failing)
    sign_in(each_page, lee)
    flipped = next(row for row in review.records.select_related("inspection__item") if row.flips)
    for path in (
        "/",
        "/items/G-BAD/",
        "/inspections/reviews/",
        f"/inspections/reviews/{review.pk}/",
        f"/inspections/reviews/record/{flipped.pk}/",
        f"/inspections/record/calibration/{review.calibration_id}/",
    ):
        each_page.goto(path)
        assert_accessible(each_page)
        wide = each_page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{path} is {wide} px wider than the screen"

    each_page.goto("/")
    each_page.get_by_role("link", name=re.compile("^G-BAD,")).click()
    small = each_page.evaluate(
        "[...document.querySelectorAll('main button, main a.button')]"
        ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.textContent.trim())"
    )
    assert small == []
    each_page.get_by_role("button", name=re.compile("Let all .* records stand")).click()
    expect(each_page.locator("#messages")).to_contain_text("records stand.")
    tag = flipped.inspection.item.tag
    each_page.get_by_role("button", name=f"Set aside {tag}").first.click()
    each_page.get_by_role("dialog").get_by_role("button", name="Yes").click()
    expect(each_page.locator("#messages")).to_contain_text(f"{tag}: the item was set aside.")
    while left := ReviewedRecord.objects.filter(outcome="").count():
        each_page.get_by_role("button", name=re.compile("^Repeat ")).first.click()
        expect(each_page.locator("#messages")).to_contain_text("to be repeated.")
        assert ReviewedRecord.objects.filter(outcome="").count() == left - 1
    each_page.get_by_label("What is concluded").fill("pointer bent, gauge renewed")
    each_page.get_by_role("button", name="Close it").click()
    expect(each_page.locator("#messages")).to_contain_text("The review of G-BAD is closed.")
    assert_accessible(each_page)
