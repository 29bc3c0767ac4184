"""What did we know on that day? Two columns for an item and a job, and what was entered in between."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Item, Job
from kit.stores import Who, acting
from tests.inspections.test_what_was_known import Clock, clock
from tests.kit.views.holm import Yard, make_yard

__all__ = ["clock"]


@pytest.fixture
def late(clock: Clock, db) -> Yard:
    """G-1 was promised to J-1 as passed; five days later a fail of that day is entered."""
    yard = make_yard()
    yard.receive("G-1")
    yard.receive("G-2", serial="2")
    job = yard.plan("J-1", yard.arrangement(), load_in=8)
    yard.reserve(job)
    clock.days_pass(1)
    yard.asked_on = clock.today
    clock.days_pass(5)
    gauge = Item.objects.get(tag="G-1")
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    with acting(Who("eve", "bench")) as act:
        record(act, Finding(gauge, check, yard.asked_on, "fail", note="reads high"))
    return yard


def page(yard: Yard, name: str, of: str, who: str = "lee", **asked: str):
    answer = yard.client(who).get(reverse(name, args=[of]), asked)
    assert answer.status_code == 200
    return answer


def differing(answer) -> list[str]:
    return [str(row.what) for row in answer.context["rows"] if row.differs]


def test_an_item_then_and_now_and_the_entry_that_came_between(late: Yard):
    answer = page(late, "item_on_a_day", "G-1", on=late.asked_on.isoformat())
    assert {"Requirements", "Fit until", "What decides it", "Calibration"} <= set(differing(answer))
    shown = answer.content.decode()
    assert "Entered later" in shown
    assert "calibration failed on" in shown
    assert "reads high" not in shown.split("What was learnt since")[0]


def test_the_day_before_shows_no_difference(late: Yard):
    answer = page(late, "item_on_a_day", "G-1", on=(late.asked_on - timedelta(days=1)).isoformat())
    assert differing(answer) == []
    assert "Nothing that was entered since bears on that moment." in answer.content.decode()


def test_a_time_of_day_may_be_given_and_today_is_asked_by_default(late: Yard):
    answer = page(late, "item_on_a_day", "G-1", on=late.asked_on.isoformat(), at="00:00")
    assert answer.context["moment"].hour == 0 or timezone.localtime(answer.context["moment"]).hour == 0
    answer = page(late, "item_on_a_day", "G-1")
    assert timezone.localdate(answer.context["moment"]) == late.today
    assert differing(answer) == []


@pytest.mark.parametrize(
    ("asked", "said"),
    [({"on": "2999-01-01"}, "still to come"), ({"on": "soon"}, "valid date"), ({"on": ""}, "required")],
)
def test_a_day_that_cannot_be_is_refused_at_its_field(late: Yard, asked: dict[str, str], said: str):
    answer = page(late, "item_on_a_day", "G-1", **asked)
    assert said in answer.content.decode()
    assert "rows" not in answer.context


def test_a_job_shows_its_pieces_with_what_was_known_of_each(late: Yard):
    answer = page(late, "job_on_a_day", "J-1", on=late.asked_on.isoformat())
    assert differing(answer) == ["G-1, gauges"]
    [row] = [row for row in answer.context["rows"] if str(row.what) == "G-1, gauges"]
    assert row.then.startswith("meets its requirements through the return")
    assert row.now.startswith("does not last through the return: calibration failed")
    assert (row.mark_then.state, row.mark_now.state) == ("promised", "promised")
    assert "Entered later" in answer.content.decode()


def test_before_it_was_planned_nothing_was_known(late: Yard):
    answer = page(late, "job_on_a_day", "J-1", on=(late.asked_on - timedelta(days=9)).isoformat())
    assert "Nothing was known of it at that moment." in answer.content.decode()
    answer = page(late, "item_on_a_day", "G-2", on=(late.asked_on - timedelta(days=9)).isoformat())
    assert "Nothing was known of it at that moment." in answer.content.decode()


def test_item_and_job_lead_there_and_only_who_sees_them_gets_there(late: Yard):
    assert Job.objects.get().reference == "J-1"
    for name, of, lead in (("item_on_a_day", "G-1", "item"), ("job_on_a_day", "J-1", "job")):
        address = reverse(name, args=[of])
        for who in ("lee", "eve", "sal", "cal"):
            assert address in page(late, lead, of, who=who).content.decode()
            page(late, name, of, who=who)
        assert late.client("wyn").get(address).status_code == 404
