"""Trial plans on screen: begun, filled by forms, worked out beside what is, and nothing else touched."""

from __future__ import annotations

import pytest
from django.contrib.messages import get_messages
from django.test import Client
from django.urls import reverse

from kit.forms.what_if import FORMS
from kit.models import Role, TrialPlan
from kit.stores import acting, plan_job, reserve
from tests.kit.views.yard import STORES, Yard, in_days, job_of, seat, yard
from tests.kit.workbooks.depot_book import dump

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _answers(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def place() -> Yard:
    """One job reserved: four of the five bags, both bases of M3, six of twenty seals."""
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
    return made


def begun(client: Client, name: str = "storm") -> TrialPlan:
    answer = client.post(reverse("what_if"), {"name": name})
    plan = TrialPlan.objects.get(name=name)
    assert answer["Location"] == reverse("trial_plan", args=[plan.pk])
    return plan


def put_in(client: Client, plan: TrialPlan, sort: str, **given: object):
    return client.post(reverse("trial_plan_change", args=[plan.pk, sort]), given)


def figures(answer) -> dict[str, tuple[int, int]]:
    return {each["what"]: (each["now"], each["then"]) for each in answer.context["figures"]}


def another_job(**other: object) -> dict[str, object]:
    return {
        "reference": "J/X",
        "depot": "NY",
        "load_on": in_days(8).isoformat(),
        "return_on": in_days(10).isoformat(),
        "arrangement": "small flow stop",
        "bore_mm": "159.6",
        "base_mark": "M3",
        "priority": "1",
        **other,
    }


def test_a_job_more_at_the_same_time_is_short_and_bags_and_bases_bought_make_it_whole(place):
    client = seat(Role.PLANNER, place.north)
    plan = begun(client)
    assert put_in(client, plan, "add-job", **another_job()).status_code == 302
    found = figures(client.get(reverse("trial_plan", args=[plan.pk])))
    # One bag is left and no base of M3: three bags and two bases short, whichever of the two jobs has to bear it.
    assert found["jobs whole"] == (1, 1)
    assert found["pieces short"] == (0, 5)
    bought = {"depot": "NY", "comes_on": in_days(1).isoformat(), "pieces": "3"}
    put_in(client, plan, "buy", kind="bag", bore_min_mm="150", bore_max_mm="180", **bought)
    put_in(client, plan, "buy", kind="base", mark="m3", **{**bought, "pieces": "2"})
    answer = client.get(reverse("trial_plan", args=[plan.pk]))
    assert figures(answer)["jobs whole"] == (1, 2)
    assert figures(answer)["pieces short"] == (0, 0)
    assert [row["job"] for row in answer.context["jobs"]] == ["J/X"]
    assert "with this plan" in answer.content.decode()


def test_a_lost_bag_takes_a_stop_away_while_the_job_is_out_of_the_store(place):
    client = seat(Role.PLANNER, place.north)
    plan = begun(client)
    for tag in ("NY-B1", "NY-B2"):
        put_in(client, plan, "lose", tag=tag)
    found = figures(client.get(reverse("trial_plan", args=[plan.pk]), {"days": "84"}))
    assert found["jobs whole"] == (1, 0)
    assert found["pieces short"] == (0, 1)
    now, then = found["stops left over, all days"]
    assert now > then == 0


def test_register_and_ledger_stay_as_they_are_to_the_byte(place):
    client = seat(Role.PLANNER, place.north)
    before = without_plans()
    plan = begun(client)
    put_in(client, plan, "add-job", **another_job())
    put_in(client, plan, "move-job", job=place.job.reference, load_on=in_days(20), return_on=in_days(25))
    put_in(client, plan, "cancel-job", job=place.job.reference)
    put_in(client, plan, "lose", tag="NY-B1")
    put_in(client, plan, "buy", kind="seal", pieces="7", depot="NY", comes_on=in_days(1))
    put_in(client, plan, "close-bench", depot="NY", first=in_days(1), last=in_days(3))
    put_in(client, plan, "bench", depot="NY", a_day="4")
    assert len(TrialPlan.objects.get().changes) == 7
    assert client.get(reverse("trial_plan", args=[plan.pk])).context["figures"]
    client.get(reverse("what_if"))
    assert without_plans() == before
    client.post(reverse("trial_plan_throw_away", args=[plan.pk]))
    assert not TrialPlan.objects.exists()
    assert without_plans() == before


def without_plans() -> dict[str, list]:
    return {
        table: rows
        for table, rows in dump().items()
        if table not in ("kit_trialplan", "django_session", "sqlite_sequence")
    }


def test_a_change_that_no_longer_applies_says_so(place):
    client = seat(Role.PLANNER, place.north)
    plan = begun(client)
    put_in(client, plan, "add-job", **another_job())
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "J/X", 30, 31))
    answer = client.get(reverse("trial_plan", args=[plan.pk]))
    assert "There is a job J/X already" in answer.content.decode()
    assert figures(answer)["jobs short"][0] == figures(answer)["jobs short"][1]


def test_a_change_is_taken_out_by_what_it_says(place):
    client = seat(Role.PLANNER, place.north)
    plan = begun(client)
    put_in(client, plan, "bench", depot="NY", a_day="4")
    words = client.get(reverse("trial_plan", args=[plan.pk])).context["changes"][0]["words"]
    out = reverse("trial_plan_take_out", args=[plan.pk, 0])
    client.post(out, {"words": "something else"})
    assert len(TrialPlan.objects.get().changes) == 1
    client.post(out, {"words": words})
    assert TrialPlan.objects.get().changes == []


@pytest.mark.parametrize(
    ("sort", "given", "sentence"),
    [
        ("add-job", another_job(return_on=in_days(1).isoformat()), "comes back before it loads"),
        ("lose", {"tag": "NY-B77"}, "no piece of this tag"),
        ("buy", {"kind": "bag", "pieces": "1", "depot": "NY", "comes_on": in_days(1), "bore_min_mm": "3"}, "two ends"),
        ("close-bench", {"depot": "NY", "first": in_days(5), "last": in_days(1)}, "opens before it closes"),
        ("transfer", {"tag": "NY-B1", "to_depot": "MB", "arrives_on": in_days(1)}, "Select a valid choice"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_said_in_the_form(place, sort, given, sentence):
    client = seat(Role.PLANNER, place.north)
    plan = begun(client)
    answer = put_in(client, plan, sort, **given)
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert TrialPlan.objects.get().changes == []


def test_every_form_opens(place):
    client = seat(Role.PLANNER, place.north)
    plan = begun(client)
    for sort in FORMS:
        assert client.get(reverse("trial_plan_change", args=[plan.pk, sort])).status_code == 200, sort
    assert client.get(reverse("trial_plan_change", args=[plan.pk, "fly"])).status_code == 404


def test_another_planner_looks_and_copies_but_does_not_change(place):
    owner, other = (seat(Role.PLANNER, place.north, name=name) for name in ("p.one", "p.two"))
    plan = begun(owner)
    put_in(owner, plan, "bench", depot="NY", a_day="4")
    assert "Copy it to change it" in other.get(reverse("trial_plan", args=[plan.pk])).content.decode()
    answer = put_in(other, plan, "lose", tag="NY-B1")
    assert "copy it" in str(next(iter(get_messages(answer.wsgi_request))))
    other.post(reverse("trial_plan_throw_away", args=[plan.pk]))
    other.post(reverse("what_if"), {"name": "mine", "copied": plan.pk})
    assert TrialPlan.objects.get(name="mine").changes == TrialPlan.objects.get(name="storm").changes


def test_only_those_who_plan_get_there(place):
    plan = begun(seat(Role.PLANNER, place.north))
    crew, elsewhere = seat(Role.CREW, place.north), seat(Role.PLANNER, place.mill, name="p.mill")
    assert crew.get(reverse("what_if")).status_code == 403
    assert crew.get(reverse("trial_plan", args=[plan.pk])).status_code == 403
    assert elsewhere.get(reverse("trial_plan", args=[plan.pk])).status_code == 404
