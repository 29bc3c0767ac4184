"""What breaks, on screen: all of it in order, and each mend by one press that the state may refuse."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from kit.models import Job, LedgerEntry, Reservation, Role, Standing, Transfer
from kit.stores import (
    acting,
    change_job,
    finish_issue,
    issue_piece,
    lose,
    plan_job,
    quarantine,
    reserve,
    send,
)
from kit.stores.breaks import breaks_of
from tests.kit.views.yard import (
    STORES,
    Yard,
    bag,
    in_days,
    job_of,
    receive,
    record_checks,
    seat,
    yard,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    """The yard with its job reserved, and another after it that is out of the way."""
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
        reserve(act, plan_job(act, job_of(made.north, made.arrangement, "J-after", 14, 15)))
    return made


def fresh(reference: str) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(reference=reference)


def words(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def look(place: Yard, role: str = Role.PLANNER):
    return seat(role, place.north).get(reverse("breaks"))


def press(place: Yard, role: str = Role.PLANNER, **data):
    return seat(role, place.north).post(reverse("breaks"), data, follow=True)


def test_nothing_breaks_is_said_as_well(place):
    assert "Nothing breaks: every promise holds" in words(look(place))


def test_the_list_is_in_the_order_of_the_ranking_and_looking_writes_nothing(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
        Job.objects.filter(reference="J-after").update(priority=3)
        plan_job(act, job_of(place.north, place.arrangement, "J-bare", 2, 3))
    client = seat(Role.PLANNER, place.north)
    entries = LedgerEntry.objects.count()
    page = client.get(reverse("breaks")).content.decode()
    heads = re.findall(r'<h2><a class="code" href="/jobs/[^"]+">([^<]+)</a>', page)
    assert heads == [each.job.reference for each in breaks_of(place.north, place.today)]
    assert heads == ["J-bare", "J/26-104", "J-after"]
    assert "torn skirt" in page
    assert "Priority 3." in page
    assert LedgerEntry.objects.count() == entries


def test_take_the_proposed_piece(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    row = Reservation.objects.get(job=place.job, standing=Standing.BROKEN)
    data = {"do": "take", "reservation": row.pk, "proposed": row.proposed.tag}
    assert "is reserved in the place of NY-B1" in words(press(place, **data))
    assert not place.job.reservations.filter(standing=Standing.BROKEN).exists()
    assert "there is nothing to mend" in words(press(place, **data))


def test_reserve_anew(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    assert "the kit is complete" in words(press(place, do="reserve", job="J/26-104"))
    with acting(STORES) as act:
        for tag in ("NY-B2", "NY-B3"):
            lose(act, place.item(tag), "not on its rack")
    assert "it is still short of" in words(press(place, do="reserve", job="J/26-104"))


def clash(place: Yard) -> None:
    """The first job goes out and runs into the second."""
    with acting(STORES) as act:
        for row in place.job.reservations.filter(standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, place.job, row.item)
        finish_issue(act, place.job)
        change_job(act, fresh("J/26-104"), return_on=in_days(14))


def test_move_to_the_soonest_day_on_which_it_is_whole(place):
    clash(place)
    client = seat(Role.PLANNER, place.north)
    head = LedgerEntry.objects.count()
    found = client.get(reverse("soonest_whole", args=["J-after"]), headers={"HX-Request": "true"})
    text = found.content.decode()
    assert "Load 1 day later" in text
    assert LedgerEntry.objects.count() == head
    data = dict(re.findall(r'name="(job|load_on|return_on|revision)" value="([^"]+)"', text))
    assert data["load_on"] == in_days(15).isoformat()
    assert "its kit is complete" in words(press(place, do="move", **data))
    assert fresh("J-after").load_on == in_days(15)
    assert "has changed since this was shown" in words(press(place, do="move", **data))


def test_the_soonest_day_as_a_page_of_its_own_and_where_there_is_none(place):
    clash(place)
    client = seat(Role.PLANNER, place.north)
    assert "Load 1 day later" in words(client.get(reverse("soonest_whole", args=["J-after"])))
    assert "cannot load later" in words(client.get(reverse("soonest_whole", args=["J/26-104"])))
    with acting(STORES) as act:
        for n in range(1, 6):
            lose(act, place.item(f"NY-B{n}"), "not on its rack")
    page = words(client.get(reverse("soonest_whole", args=["J-after"])))
    assert "No day of the next 84 is known on which it would be whole" in page


def test_no_move_is_offered_where_reserving_anew_is_enough(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    found = seat(Role.PLANNER, place.north).get(reverse("soonest_whole", args=["J/26-104"]))
    assert "Reserved anew it is whole on its own days" in words(found)
    assert 'value="move"' not in found.content.decode()


def test_a_late_van_is_expected_anew(place):
    clash(place)
    with acting(STORES) as act:
        change_job(act, fresh("J/26-104"), load_on=in_days(-3), return_on=in_days(-1))
    page = look(place).content.decode()
    assert "Waiting for its kit:" in page
    assert page.count("Expect it back") == 2
    revision = fresh("J/26-104").revision
    data = {"do": "expect", "job": "J/26-104", "load_on": in_days(-3), "return_on": in_days(1)}
    assert "is expected back on" in words(press(place, revision=revision, **data))
    assert fresh("J/26-104").return_on == in_days(1)


def test_a_date_that_runs_out_points_to_the_bench(place):
    with acting(STORES) as act:
        change_job(act, fresh("J/26-104"), load_on=in_days(172), return_on=in_days(180))
    page = look(place).content.decode()
    assert "Ask the bench for it" in page
    assert reverse("item", args=["NY-B1"]) in page


def test_what_is_on_its_way_too_slowly_points_to_its_consignment(place):
    with acting(STORES) as act:
        [coming] = receive(act, [bag(place.mill, "MB-B1", use_by=in_days(400))])
        record_checks(act, [coming])
        for tag in ("NY-B1", "NY-B2"):
            lose(act, place.item(tag), "not on its rack")
        send(act, coming, place.north, in_days(3))
    with acting(STORES) as act:
        reserve(act, fresh("J/26-104"))
        change_job(act, fresh("J/26-104"), load_on=in_days(2))
    number = Transfer.objects.get().number
    page = look(place).content.decode()
    assert "MB-B1" in page
    assert reverse("transfer", args=[number]) in page
    assert reverse("transfer_arrive", args=[number]) not in page
    assert reverse("transfer_arrive", args=[number]) in look(place, Role.STORES).content.decode()


def test_the_needless_promise_is_let_go(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    row = Reservation.objects.get(job=place.job, standing=Standing.BROKEN)
    refused = words(press(place, do="let-go", reservation=row.pk))
    assert "is not full any more" in refused
    assert Reservation.objects.get(pk=row.pk).standing == Standing.BROKEN


@pytest.mark.parametrize("role", [Role.CREW, Role.EXAMINER])
def test_others_look_and_do_not_press(place, role):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    page = look(place, role).content.decode()
    assert "NY-B1" in page
    assert 'value="reserve"' not in page
    assert press(place, role, do="reserve", job="J/26-104").status_code == 403
    assert seat(role, place.north).get(reverse("soonest_whole", args=["J-after"])).status_code == 403


@pytest.mark.parametrize(
    "data",
    [
        {"do": "dance"},
        {"do": "take", "reservation": "x", "proposed": "NY-B5"},
        {"do": "move", "job": "J/26-104", "load_on": "soon", "return_on": "2026-12-01", "revision": "1"},
        {"do": "move", "job": "J/26-104", "load_on": "2026-12-01", "return_on": "2026-12-01"},
    ],
)
def test_what_the_page_does_not_offer_is_refused(place, data):
    assert press(place, **data).status_code == 400
