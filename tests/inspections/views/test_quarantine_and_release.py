"""Quarantine on screen: what is set aside, by age; nobody releases what they set aside or failed."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.models import QuarantineCase
from kit.models import Item, Role, State
from kit.stores import acting, prove_ledger, quarantine
from tests.kit.views.holm import CLERK, Yard


@pytest.fixture
def aside(yard: Yard) -> Item:
    """G-1, set aside by Sal."""
    gauge = yard.receive("G-1")
    yard.do(quarantine, gauge, "bent", who="sal")
    return Item.objects.get(tag="G-1")


def release(yard: Yard, who: str, findings: str = "glass renewed, reads true", tag: str = "G-1"):
    return yard.client(who).post(reverse("release", args=[tag]), {"findings": findings}, follow=True)


def state(tag: str = "G-1") -> str:
    return Item.objects.get(tag=tag).state


def test_the_list_gives_why_who_and_age_the_oldest_first(yard: Yard, aside: Item):
    older = yard.receive("G-2", serial="2")
    with acting(CLERK) as act:
        quarantine(act, older, "stuck")
        case = QuarantineCase.objects.get(item=older)
        act.change(case, opened_at=timezone.now() - timedelta(days=9))
        act.tell("corrected", [older], note="a case of long ago, for this test")
    answer = yard.client("lee").get(reverse("quarantine"))
    assert [row.record.item.tag for row in answer.context["table"].rows] == ["G-2", "G-1"]
    page = answer.content.decode()
    for text in (
        "bent",
        "sal",
        "9 days",
        ", today",
        "open 8 to 30 days",
        reverse("defect_tag", args=["G-1"]),
    ):
        assert text in page, text


def test_another_than_who_set_it_aside_releases_it_with_findings(yard: Yard, aside: Item):
    answer = release(yard, "lee")
    assert state() == State.AVAILABLE
    assert "G-1 is released." in answer.content.decode()
    assert "Glass renewed, reads true." in answer.content.decode()
    assert prove_ledger().fault is None


def test_a_release_needs_findings(yard: Yard, aside: Item):
    page = release(yard, "lee", findings="   ").content.decode()
    assert "This field is required" in page
    assert state() == State.QUARANTINED


def test_who_set_it_aside_is_refused_and_not_offered_it(yard: Yard, aside: Item):
    yard.appoint("sal", yard.holm, Role.COMPLIANCE)
    client = yard.client("sal")
    assert reverse("release", args=["G-1"]) not in client.get(reverse("quarantine")).content.decode()
    assert "Nobody releases their own" in client.get(reverse("release", args=["G-1"])).content.decode()
    assert "You set G-1 aside: somebody else must release it." in release(yard, "sal").content.decode()
    assert state() == State.QUARANTINED


def test_who_failed_it_is_refused_another_examiner_is_not(yard: Yard):
    gauge = yard.receive("G-1")
    yard.do(quarantine, gauge, "looks bent", who="sal")
    yard.inspect(gauge, "calibration", "fail", days_ago=0, by="eve")
    assert "You failed G-1: somebody else must release it." in release(yard, "eve").content.decode()
    assert state() == State.QUARANTINED
    release(yard, "max")
    assert state() == State.AVAILABLE


def test_a_release_does_not_pass_a_check(yard: Yard, aside: Item):
    yard.inspect(aside, "calibration", "fail", days_ago=0, by="eve")
    page = yard.client("lee").get(reverse("release", args=["G-1"])).content.decode()
    assert "A release does not pass a check." in page
    release(yard, "lee")
    item = Item.objects.get(tag="G-1")
    assert (item.state, item.fit_until) == (State.AVAILABLE, None)


@pytest.mark.parametrize("who", ["sal", "cal", "pat"])
def test_a_role_that_does_not_release_gets_nowhere(yard: Yard, aside: Item, who: str):
    assert release(yard, who).status_code == 403
    assert (
        reverse("release", args=["G-1"]) not in yard.client(who).get(reverse("quarantine")).content.decode()
    )
    assert state() == State.QUARANTINED


def test_what_is_not_in_quarantine_cannot_be_released(yard: Yard):
    yard.receive("G-1")
    assert "not in quarantine" in yard.client("lee").get(reverse("release", args=["G-1"])).content.decode()
    assert "G-1 is not in quarantine." in release(yard, "lee").content.decode()


def test_a_release_counts_only_at_ones_own_depot(yard: Yard):
    yard.do(quarantine, yard.receive("W-1", depot=yard.weir), "bent", who="wyn")
    assert release(yard, "lee", tag="W-1").status_code == 404
    yard.appoint("lee", yard.weir, Role.CREW)
    assert release(yard, "lee", tag="W-1").status_code == 403
    everywhere = yard.client("lee").get(reverse("quarantine"), {"depot": "all"}).content.decode()
    assert reverse("item", args=["W-1"]) in everywhere
    assert reverse("release", args=["W-1"]) not in everywhere
    assert reverse("item", args=["W-1"]) not in yard.client("lee").get(reverse("quarantine")).content.decode()


def test_an_empty_quarantine_says_so(yard: Yard):
    assert (
        "No case matches: nothing of this sort is set aside."
        in yard.client("lee").get(reverse("quarantine")).content.decode()
    )
