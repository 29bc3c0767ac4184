"""The list of jobs, and planning one: who sees and may what, and what is said of the bore."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from kit.models import Deed, Job, LedgerEntry, Role
from kit.stores import acting, cancel_job, plan_job, quarantine, reserve
from kit.tables.jobs import kitted
from tests.kit.views.yard import STORES, Yard, in_days, job_of, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


def rows(response) -> dict[str, tuple[str, str]]:
    """Reference -> (mark, what stands behind it) as the table has them."""
    return {
        row.record.reference: (kitted(row.record).word or kitted(row.record).state, kitted(row.record).more)
        for row in response.context["table"].rows
    }


def plan_of(place: Yard, **other: object) -> dict[str, object]:
    return {
        "reference": "J/26-200",
        "depot": place.north.pk,
        "site": "Mill Road",
        "load_on": in_days(3).isoformat(),
        "return_on": in_days(5).isoformat(),
        "main_material": "PE",
        "main_size": "180",
        "main_sdr": "17",
        "bore_mm": "159.6",
        "base_mark": "M3",
        "arrangement": place.arrangement.pk,
        **other,
    }


def test_the_list_marks_complete_short_and_broken(place):
    with acting(STORES) as act:
        whole = plan_job(act, job_of(place.north, place.arrangement, "WHOLE", 40, 45))
        reserve(act, whole)
        broken = plan_job(act, job_of(place.north, place.arrangement, "BROKEN", 60, 65))
        reserve(act, broken)
        plan_job(act, job_of(place.north, place.arrangement, "NONE", 80, 85))
        part = plan_job(act, job_of(place.north, place.arrangement, "PART", 20, 25))
        reserve(act, part)
    with acting(STORES) as act:
        # Two of five bags gone: WHOLE, BROKEN and PART share the same four, so all of them break or heal alike.
        quarantine(act, place.item("NY-B1"), "torn")
    shown = rows(seat(Role.PLANNER, place.north).get(reverse("jobs")))
    assert shown["WHOLE"] == ("broken", "1 to replace")
    assert shown["NONE"] == ("nothing reserved", "")
    assert set(shown) == {"J/26-104", "WHOLE", "BROKEN", "NONE", "PART"}


def test_complete_and_short_count_what_is_promised():
    place = yard(bags=3)
    with acting(STORES) as act:
        reserve(act, place.job)
        small = plan_job(act, job_of(place.north, place.arrangement, "LATER", 40, 45))
        reserve(act, small)
    client = seat(Role.PLANNER, place.north)
    assert rows(client.get(reverse("jobs")))["J/26-104"] == ("short", "of 1 in 12")
    assert set(rows(client.get(reverse("jobs"), {"kitted": "short"}))) == {"J/26-104", "LATER"}
    assert rows(client.get(reverse("jobs"), {"kitted": "complete"})) == {}


def test_ended_jobs_are_shown_when_asked_for(place):
    with acting(STORES) as act:
        gone = plan_job(act, job_of(place.north, place.arrangement, "GONE"))
        cancel_job(act, gone, "rain")
    client = seat(Role.CREW, place.north)
    assert set(rows(client.get(reverse("jobs")))) == {"J/26-104"}
    assert set(rows(client.get(reverse("jobs"), {"state": ""}))) == {"J/26-104", "GONE"}
    assert rows(client.get(reverse("jobs"), {"state": "cancelled"})) == {"GONE": ("cancelled", "")}


def test_the_loading_window_and_the_words_narrow_the_list(place):
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "LATE", 40, 45))
    client = seat(Role.PLANNER, place.north)
    from_day = {"loads_from": in_days(8).isoformat()}
    assert set(rows(client.get(reverse("jobs"), from_day))) == {"LATE"}
    until = {"loads_until": in_days(7).isoformat()}
    assert set(rows(client.get(reverse("jobs"), until))) == {"J/26-104"}
    assert set(rows(client.get(reverse("jobs"), {"q": "late weir"}))) == {"LATE"}


def test_jobs_of_other_depots_are_not_shown(place):
    with acting(STORES) as act:
        plan_job(act, job_of(place.mill, place.arrangement, "MILL-1"))
    client = seat(Role.PLANNER, place.north)
    assert "MILL-1" not in rows(client.get(reverse("jobs")))
    assert client.get(reverse("job", args=["MILL-1"])).status_code == 404


def test_a_planner_plans_a_job(place):
    client = seat(Role.PLANNER, place.north)
    answer = client.post(reverse("plan_job"), plan_of(place))
    assert answer.status_code == 302, answer.context["form"].errors
    made = Job.objects.get(reference="J/26-200")
    assert made.bore_mm == Decimal("159.6")
    assert made.arrangement == place.arrangement
    entry = LedgerEntry.objects.get(deed=Deed.PLANNED, mentions__about="job:J/26-200")
    assert (entry.actor, entry.source) == ("the.planner", "planning screen")
    assert "measured bore is" not in client.get(answer.url).content.decode()


def test_a_job_is_planned_with_all_that_decides_about_its_bore(place):
    said = {"far_bore_mm": "158.5", "ovality_mm": "0", "lining_mm": "3", "crew": "Crew 2", "priority": "7"}
    seat(Role.PLANNER, place.north).post(reverse("plan_job"), plan_of(place, **said))
    job = Job.objects.get(reference=plan_of(place)["reference"])
    assert {name: str(getattr(job, name)) for name in said} == {
        **said,
        "far_bore_mm": "158.500",
        "ovality_mm": "0.000",
        "lining_mm": "3.000",
    }


@pytest.mark.parametrize("role", [Role.CREW, Role.EXAMINER, Role.COMPLIANCE])
def test_others_may_not_plan(place, role):
    client = seat(role, place.north)
    assert client.get(reverse("plan_job")).status_code == 403
    assert client.post(reverse("plan_job"), plan_of(place)).status_code == 403
    assert not Job.objects.filter(reference="J/26-200").exists()


def test_a_planner_of_one_depot_does_not_plan_for_another(place):
    client = seat(Role.PLANNER, place.north)
    answer = client.post(reverse("plan_job"), plan_of(place, depot=place.mill.pk))
    assert answer.status_code == 200
    assert "depot" in answer.context["form"].errors
    assert not Job.objects.filter(reference="J/26-200").exists()


def test_a_measured_bore_far_from_the_nominal_one_is_warned_about(place):
    client = seat(Role.PLANNER, place.north)
    answer = client.post(reverse("plan_job"), plan_of(place, bore_mm="150"), follow=True)
    told = [str(message) for message in answer.context["messages"]]
    assert any("measured bore is 150" in text for text in told)
    # It stays on the job's page, for whoever opens it next.
    assert "measured bore is 150" in client.get(reverse("job", args=["J/26-200"])).content.decode()


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"return_on": in_days(1).isoformat()}, "return_on"),
        ({"reference": "j/26-104"}, "reference"),
        ({"reference": ".."}, "reference"),
        ({"reference": "a\x01b"}, "reference"),
        ({"bore_mm": "-3"}, "bore_mm"),
        ({"far_bore_mm": "0"}, "far_bore_mm"),
        ({"lining_mm": "-1"}, "lining_mm"),
        ({"bore_mm": "100", "ovality_mm": "100"}, "__all__"),
        ({"priority": "10"}, "priority"),
        ({"load_on": "31/02/2027"}, "load_on"),
        ({"arrangement": "99999"}, "arrangement"),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_is_kept(place, wrong, field):
    answer = seat(Role.PLANNER, place.north).post(reverse("plan_job"), plan_of(place, **wrong))
    assert answer.status_code == 200
    assert field in answer.context["form"].errors
    assert "Mill Road" in answer.content.decode()
    assert Job.objects.count() == 1


def test_nobody_sees_jobs_without_signing_in(client, place):
    assert client.get(reverse("jobs")).status_code == 302
    assert client.get(reverse("job", args=["J/26-104"])).status_code == 302
