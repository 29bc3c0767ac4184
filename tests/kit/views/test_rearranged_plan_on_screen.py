"""The rearranged plan on screen: what leaves, what comes and why; nothing by looking; one press, or a refusal."""

from __future__ import annotations

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from kit.models import Item, LedgerEntry, Reservation, Role, Standing
from kit.stores import acting, plan_job, prove_ledger, quarantine, reserve
from tests.kit.views.yard import STORES, Yard, bag, in_days, job_of, seat, yard
from tests.kit.workbooks.depot_book import dump

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _answers(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def place() -> Yard:
    """A job that holds four bags of which one is set aside since; a fifth bag is free."""
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
    return made


def said(answer) -> list[str]:
    return [str(message) for message in get_messages(answer.wsgi_request)]


def promised(place: Yard) -> set[str]:
    rows = Reservation.objects.filter(job=place.job, standing=Standing.PROMISED)
    return set(rows.values_list("item__tag", flat=True))


def set_one_aside(place: Yard) -> str:
    tag = sorted(tag for tag in promised(place) if tag.startswith("NY-B"))[0]
    with acting(STORES) as act:
        quarantine(act, Item.objects.get(tag=tag), "cut in the skirt")
    return tag


def test_where_all_is_as_good_as_can_be_there_is_nothing_to_apply(place):
    answer = seat(Role.PLANNER, place.north).get(reverse("rearranged"))
    assert answer.context["now"] == {"jobs_short": 0, "pieces_short": 0}
    assert answer.context["then"] == {"jobs_short": 0, "pieces_short": 0, "changes": 0}
    assert answer.context["proven"] is True
    page = answer.content.decode()
    assert "Nothing would move" in page
    assert "Apply this plan" not in page


def test_a_line_with_a_gap_is_filled_by_one_press_and_by_nothing_else(place):
    client = seat(Role.PLANNER, place.north)
    lost = set_one_aside(place)
    before = dump_without_sessions()
    answer = client.get(reverse("rearranged"))
    assert dump_without_sessions() == before
    assert answer.context["now"]["pieces_short"] == 1
    assert answer.context["then"]["pieces_short"] == 0
    [job] = answer.context["moving"]
    [comes] = job["comes"]
    assert comes["why"] == "free"
    assert comes["tag"].startswith("NY-B")
    assert comes["tag"] != lost
    press = reverse("apply_rearranged")
    done = client.post(press, {"key": answer.context["key"]})
    assert said(done) == ["The plan is applied: 1 job has other promises."]
    assert comes["tag"] in promised(place)
    assert prove_ledger().fault is None
    again = client.post(press, {"key": answer.context["key"]})
    assert "not kept any more" in said(again)[-1]


def test_a_plan_made_before_the_register_moved_is_refused_in_a_sentence(place):
    client = seat(Role.PLANNER, place.north)
    set_one_aside(place)
    key = client.get(reverse("rearranged")).context["key"]
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "J/NEW", 30, 31))
    before, entries = promised(place), LedgerEntry.objects.count()
    answer = client.post(reverse("apply_rearranged"), {"key": key})
    assert "The register has moved since the plan was made" in said(answer)[-1]
    assert (promised(place), LedgerEntry.objects.count()) == (before, entries)
    # Looked at again, it is another plan, which can be applied.
    assert client.get(reverse("rearranged")).context["key"] != key


def test_a_job_that_stays_short_says_what_would_mend_it(place):
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "J/TWO", 8, 10))
    answer = seat(Role.PLANNER, place.north).get(reverse("rearranged"))
    [short] = answer.context["short"]
    assert short["job"] == "J/TWO"
    lines = {each["line"]: each for each in short["short"]}
    assert lines["bags"]["number"] == 3
    assert "load on" in lines["bags"]["remedy"].lower()
    assert lines["bags"]["soonest"] == in_days(13)


def test_a_piece_that_goes_to_the_more_urgent_job_says_so(place):
    with acting(STORES) as act:
        act.create(bag(place.north, "NY-B20"))
        act.tell("received", [Item.objects.get(tag="NY-B20")], note="for the test")
        urgent = job_of(place.north, place.arrangement, "J/URGENT", 8, 10)
        urgent.priority = 9
        plan_job(act, urgent)
    answer = seat(Role.PLANNER, place.north).get(reverse("rearranged"))
    leaving = {each["tag"]: each["why"] for job in answer.context["moving"] for each in job["leaves"]}
    assert leaving["NY-S1"] == "goes to J/URGENT"
    [coming] = [job for job in answer.context["moving"] if job["job"] == "J/URGENT"]
    assert {each["tag"]: each["why"] for each in coming["comes"]}["NY-S1"] == "so far with J/26-104"


def test_another_person_s_plan_is_not_applied_and_a_key_is_no_path(place):
    set_one_aside(place)
    key = seat(Role.PLANNER, place.north).get(reverse("rearranged")).context["key"]
    other = seat(Role.STORES, place.north)
    for wrong in (key, "", "../../etc/passwd", "a" * 64):
        assert "not kept any more" in said(other.post(reverse("apply_rearranged"), {"key": wrong}))[-1]


def test_only_those_who_plan_get_there(place):
    crew = seat(Role.CREW, place.north)
    assert crew.get(reverse("rearranged")).status_code == 403
    assert crew.post(reverse("apply_rearranged"), {"key": "a" * 64}).status_code == 403
    assert seat(Role.PLANNER, place.north).get(reverse("apply_rearranged")).status_code == 405


def dump_without_sessions() -> dict[str, list]:
    return {table: rows for table, rows in dump().items() if table != "django_session"}
