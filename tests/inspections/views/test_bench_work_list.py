"""The bench: what bites first stands first, a scan opens the due check, ticked rows become a batch."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from kit.models import Item, Kind
from tests.inspections.views.hold_kit import bag, gauge
from tests.kit.views.holm import Yard


def tags(answer) -> list[str]:
    return [row.record.tag for row in answer.context["table"].rows]


def test_what_is_promised_soonest_comes_first_then_what_is_due_first(yard: Yard):
    for tag, days_ago in (("P-1", 400), ("P-2", 380), ("P-3", 355)):
        item = yard.receive(tag, kind="pump", passed=False)
        yard.inspect(item, "inspection", days_ago=days_ago)
    yard.receive("P-5", kind="pump", passed=False)
    job = yard.plan("J-1", yard.arrangement("pumping", [("pump", "pump", 1)]), load_in=0, days=1)
    yard.reserve(job)
    promised = job.reservations.get().item.tag
    assert promised == "P-3"
    answer = yard.client("eve").get(reverse("bench"))
    listed = tags(answer)
    assert listed[0] == promised
    assert listed.index("P-5") < listed.index("P-1") < listed.index("P-2")
    assert "overdue" in answer.content.decode()


@pytest.mark.parametrize(
    ("tag", "screen"),
    [("B-1", "hold_bench"), ("BASE-1", "form_check"), ("G-1", "record"), ("C-1", "calibrate")],
)
def test_a_scan_opens_the_screen_of_its_due_check(yard: Yard, tag: str, screen: str):
    bag(yard, "B-1")
    gauge(yard)
    yard.receive("BASE-1", kind="base", passed=False, mark="M3")
    yard.receive("C-1", kind="pump", passed=False)
    spec = CheckSpec(
        "calibration",
        "P1Y",
        method="calibration",
        unit="bar",
        accuracy_class=Decimal("1.6"),
        span=Decimal("0.6"),
    )
    yard.do(set_checks, Kind.objects.get(name="pump"), [spec])
    yard.do(set_checks, Kind.objects.get(name="gauge"), [CheckSpec("calibration", "P1Y", method="plain")])
    answer = yard.client("eve").get(reverse("bench"), {"code": tag.lower()})
    path = reverse(screen) if screen == "hold_bench" else reverse(screen, args=[tag])
    assert answer["Location"].startswith(path)


def test_it_is_narrowed_by_kind_check_and_place(yard: Yard):
    yard.receive("P-1", kind="pump", passed=False)
    yard.receive("N-1", kind="nose", passed=False)
    client = yard.client("eve")
    assert tags(client.get(reverse("bench"), {"kind": "pump"})) == ["P-1"]
    assert tags(client.get(reverse("bench"), {"kind": "no such"})) == ["N-1", "P-1"]


def test_ticked_rows_of_one_check_become_a_batch(yard: Yard):
    items = [yard.receive(tag, kind="pump", passed=False) for tag in ("P-1", "P-2")]
    nose = yard.receive("N-1", kind="nose", passed=False)
    bag(yard, "B-1")
    client = yard.client("eve")
    chosen = [f"{item.pk} inspection" for item in items]
    answer = client.post(reverse("bench"), {"chosen": chosen}, follow=True)
    assert [row["piece"].tag for row in answer.context["rows"]] == ["P-2", "P-1"]
    for wrong in ([*chosen, f"{nose.pk} inspection"], [], ["x y"]):
        page = client.post(reverse("bench"), {"chosen": wrong}, follow=True).content.decode()
        assert "Tick rows" in page
    held = f"{Item.objects.get(tag='B-1').pk} hold test and visual"
    assert "piece by piece" in client.post(reverse("bench"), {"chosen": [held]}, follow=True).content.decode()


def test_only_who_may_inspect_has_a_bench(yard: Yard):
    assert yard.client("sal").get(reverse("bench")).status_code == 403
    home = yard.client("eve").get(reverse("today")).content.decode()
    assert reverse("bench") in home
    assert reverse("bench") + '"' not in yard.client("sal").get(reverse("today")).content.decode()


def test_what_is_due_soon_but_not_yet_is_on_the_list_too(yard: Yard):
    item = yard.receive("P-1", kind="pump", passed=False)
    yard.inspect(item, "inspection", days_ago=(yard.today - (yard.today - timedelta(days=355))).days)
    assert tags(yard.client("eve").get(reverse("bench"))) == ["P-1"]
