"""Settings of kinds, labels of makers and the walk round a store: by whom, and what follows from them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import (
    Kind,
    LedgerEntry,
    MakerLabel,
    Place,
    Reservation,
    Role,
    ShortDate,
    Standing,
)
from kit.papers.from_store import load_list_of
from kit.stores import acting, kit_list_of, plan_job, prove_ledger, reserve, set_kind
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, job_of, kind, record_as_seen, seat, yard

pytestmark = pytest.mark.django_db

BAG = {
    "turn_round_days": "0",
    "margin_days": "0",
    "short_date": "",
    "has_bore": "on",
    "has_serial": "on",
    "has_batch": "on",
    "has_use_by": "on",
    "check_after_use": "on",
}


@pytest.fixture
def place() -> Yard:
    return yard()


def address() -> str:
    return reverse("kind", args=[kind("bag").pk])


def test_a_greater_margin_breaks_promises_and_says_so(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = seat(Role.COMPLIANCE, place.north)
    answer = record_as_seen(client, address(), {**BAG, "margin_days": "300"})
    said = [str(message) for message in answer.context["messages"]]
    assert sum("no longer holds for J/26-104" in text for text in said) == 4
    assert kind("bag").margin_days == 300
    assert prove_ledger().fault is None


def test_what_a_change_of_a_kind_brings_is_shown_and_nothing_is_written(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = seat(Role.COMPLIANCE, place.north)
    entries = LedgerEntry.objects.count()
    answer = client.post(address(), {**BAG, "margin_days": "300", "has_mark": "on"})
    foreseen = answer.context["foreseen"]
    assert {name for name, _now, _then in foreseen.changed} == {"margin_days", "has_mark"}
    assert (foreseen.pieces, foreseen.promised, foreseen.without_mark, foreseen.without_bore) == (6, 4, 6, 0)
    assert [each.job for each in foreseen.swings.breaks] == ["J/26-104"] * 4
    text = answer.content.decode()
    for said in (
        "4 promises break",
        "Margin, days: 0 now, 300 then",
        "6 pieces of it are in use",
        "6 pieces have no mark",
    ):
        assert said in text
    assert kind("bag").margin_days == 0
    assert LedgerEntry.objects.count() == entries
    assert not Reservation.objects.filter(standing=Standing.BROKEN).exists()


def test_jobs_whose_best_kit_would_be_short_are_named_though_nothing_is_promised(place):
    client = seat(Role.COMPLIANCE, place.north)
    answer = client.post(address(), {**BAG, "margin_days": "300"})
    (only,) = answer.context["foreseen"].jobs
    assert (only.job, only.short_now) == (place.job, 0)
    set_aside = kit_list_of(place.job, place.job.load_on)
    assert only.short_then == sum(line.line.quantity for line in set_aside.lines if line.line.kind == "bag")
    text = answer.content.decode()
    assert "Planned jobs whose best kit would be short of more or less" in text
    # Made so, the kit list says the same.
    with acting(STORES) as act:
        set_kind(act, "bag", margin_days=300)
    short = sum(line.short for line in kit_list_of(place.job, place.job.load_on).lines)
    assert short == only.short_then
    back = client.post(address(), BAG).context["foreseen"].jobs
    assert [(each.short_now, each.short_then) for each in back] == [(short, 0)]
    same = client.post(address(), {**BAG, "margin_days": "301"})
    assert same.context["foreseen"].jobs == ()
    assert "no planned job would be short" in same.content.decode()


def test_of_many_jobs_the_first_twelve_are_reckoned(place):
    with acting(STORES) as act:
        for number in range(13):
            plan_job(act, job_of(place.north, place.arrangement, f"J-{number}", 20 + number, 21 + number))
    foreseen = (
        seat(Role.COMPLIANCE, place.north).post(address(), {**BAG, "margin_days": "300"}).context["foreseen"]
    )
    assert len(foreseen.jobs) == 12
    assert foreseen.jobs_left_out == 2


def test_a_change_back_shows_which_promises_hold_again(place):
    with acting(STORES) as act:
        reserve(act, place.job)
        set_kind(act, "bag", margin_days=300)
    answer = seat(Role.COMPLIANCE, place.north).post(address(), BAG)
    assert len(answer.context["foreseen"].swings.heals) == 4
    assert "4 promises hold again" in answer.content.decode()


def test_more_turn_round_shows_the_later_job_that_gives_way(place):
    with acting(STORES) as act:
        reserve(act, place.job)
        later = plan_job(act, job_of(place.north, place.arrangement, "J-later", 14, 16))
        reserve(act, later)
    answer = seat(Role.COMPLIANCE, place.north).post(address(), {**BAG, "turn_round_days": "5"})
    assert {each.job for each in answer.context["foreseen"].swings.breaks} == {"J-later"}


def test_what_would_change_otherwise_by_now_is_not_recorded(place):
    client = seat(Role.COMPLIANCE, place.north)
    wanted = {**BAG, "margin_days": "300"}
    seen = client.post(address(), wanted).context["foreseen"].seen
    with acting(STORES) as act:
        reserve(act, place.job)
    answer = client.post(address(), {**wanted, "seen": seen})
    assert "Something else would change by now than was shown" in answer.content.decode()
    assert kind("bag").margin_days == 0
    # Other settings than those looked at are not recorded either.
    seen = client.post(address(), wanted).context["foreseen"].seen
    client.post(address(), {**wanted, "margin_days": "301", "seen": seen})
    assert kind("bag").margin_days == 0
    assert "Record the settings" not in client.post(address(), BAG).content.decode()


def test_what_short_dates_mean_is_set_for_the_kind_and_for_a_maker(place):
    client = seat(Role.COMPLIANCE, place.north)
    record_as_seen(client, address(), {**BAG, "short_date": "month"})
    assert kind("bag").short_date == ShortDate.MONTH
    answer = client.post(address(), {"maker": "Anvil & Sons", "short_date": "quarter"}, follow=True)
    assert MakerLabel.objects.get(kind=kind("bag")).short_date == ShortDate.QUARTER
    assert "Anvil &amp; Sons" in answer.content.decode()
    # The settings of the kind were not in that form and are as they were.
    assert kind("bag").short_date == ShortDate.MONTH


def test_days_below_none_are_refused(place):
    answer = seat(Role.COMPLIANCE, place.north).post(
        address(), {**BAG, "margin_days": "-1", "turn_round_days": "x"}
    )
    assert set(answer.context["form"].errors) == {"margin_days", "turn_round_days"}
    assert kind("bag").margin_days == 0


def test_a_new_kind_is_set_up_once(place):
    client = seat(Role.COMPLIANCE, place.north)
    data = {
        "name": "hose clip",
        "counted": "on",
        "turn_round_days": "1",
        "margin_days": "0",
        "short_date": "",
    }
    answer = client.post(reverse("new_kind"), data)
    made = Kind.objects.get(name="hose clip")
    assert answer.url == reverse("kind", args=[made.pk])
    assert (made.counted, made.turn_round_days, made.has_serial) == (True, 1, False)
    answer = client.post(reverse("new_kind"), {**data, "name": "Hose Clip"})
    assert "There is a kind hose clip already." in answer.content.decode()


@pytest.mark.parametrize("role", [role for role in EVERY_ROLE if role != Role.COMPLIANCE])
def test_others_read_the_settings_and_do_not_change_them(place, role):
    client = seat(role, place.north)
    text = client.get(address()).content.decode()
    assert "Record the settings" not in text
    assert "Margin, days" in text
    assert client.post(address(), {**BAG, "margin_days": "9"}).status_code == 403
    assert client.post(reverse("new_kind"), {"name": "x"}).status_code == 403
    assert kind("bag").margin_days == 0


def test_the_walk_round_the_store_orders_the_load_list(place):
    cage, rack = Place.objects.get(name="Cage 1"), Place.objects.get(name="Rack 2")
    client = seat(Role.STORES, place.north)
    client.post(reverse("places"), {f"place-{cage.pk}": "9", f"place-{rack.pk}": "1"})
    paper = load_list_of(place.job, kit_list_of(place.job))
    assert list(paper.by_place()) == ["Rack 2", "Cage 1"]
    assert prove_ledger().fault is None
    assert (
        "Nothing differs"
        in client.post(
            reverse("places"), {f"place-{cage.pk}": "9", f"place-{rack.pk}": "1"}, follow=True
        ).content.decode()
    )


def test_the_walk_of_a_store_is_set_by_those_who_keep_it(place):
    cage = Place.objects.get(name="Cage 1")
    for role in (Role.CREW, Role.PLANNER, Role.EXAMINER):
        assert seat(role, place.north).post(reverse("places"), {f"place-{cage.pk}": "9"}).status_code == 403
    cage.refresh_from_db()
    assert cage.walk == 1
