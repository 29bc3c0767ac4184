"""Concessions, corrections and what was known on a day: nothing found by axe, nothing wider than a phone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.actions.concessions import ask, grant
from inspections.actions.correct import Entered, correct
from inspections.models import Check, Inspection
from kit.models import Role
from tests.kit.views.holm import make_yard

pytestmark = pytest.mark.django_db(transaction=True)


def test_pages_are_accessible_at_both_widths(each_page, sign_in, assert_accessible) -> None:
    yard = make_yard()
    yard.appoint("dot", yard.holm, Role.DUTY)
    for n in (1, 2):
        yard.receive(f"G-{n}", serial=str(n))
    yard.reserve(yard.plan("J-1", yard.arrangement()))
    asked = []
    for n in (1, 2):
        item = yard.receive(f"H-{n}", serial=f"9{n}")
        check = Check.objects.get(kind=item.kind, name="calibration")
        until = item.dues.get().due_on + timedelta(days=9)
        asked.append(yard.do(ask, item, check, until, "bench full", "little", "low pressure only", who="pat"))
    yard.do(grant, asked[0], "agreed", who="dot")
    old = Inspection.objects.get(item__tag="H-1")
    yard.do(correct, old, Entered(old.done_on - timedelta(days=3), verdict="pass"), "slip", who="eve")
    newer = Inspection.objects.get(corrects=old)
    yesterday = (timezone.localdate() - timedelta(days=1)).isoformat()
    pages = {
        "dot": [
            reverse("today"),
            reverse("concessions"),
            reverse("concessions") + "?part=running",
            reverse("concession", args=[asked[0].pk]),
            reverse("concession", args=[asked[1].pk]),
        ],
        "eve": [
            reverse("item", args=["H-1"]),
            reverse("correct_record", args=[newer.pk]),
            reverse("correct_record", args=[old.pk]),
            reverse("item_on_a_day", args=["H-1"]),
            reverse("job_on_a_day", args=["J-1"]),
        ],
        "sal": [
            reverse("ask_concession", args=["G-1"]),
            reverse("issue", args=["J-1"]) + f"?on={yesterday}",
            reverse("due") + "?within=1000",
            reverse("register"),
        ],
    }
    faults = []
    for who, addresses in pages.items():
        each_page.context.clear_cookies()
        sign_in(each_page, yard.people[who])
        for address in addresses:
            answer = each_page.goto(address)
            assert answer.status == 200, address
            wide = each_page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
            if wide > 0:
                faults.append(f"{address}: {wide} px wider than the screen")
            size = each_page.viewport_size
            height = each_page.evaluate("document.documentElement.scrollHeight")
            each_page.set_viewport_size({"width": size["width"], "height": height})
            try:
                assert_accessible(each_page)
            except AssertionError as found:
                faults.append(f"{address}: {found}")
            each_page.set_viewport_size(size)
    assert not faults, "\n".join(faults)
