"""Reminders and calendar: everybody sets up their own, for their own depots, and sees what would be sent today."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from inspections.digest import digest_of
from inspections.models import FeedKey, MailWish
from kit.models import Role
from kit.stores import prove_ledger
from tests.kit.views.holm import PEOPLE, Yard

PAGE = "/inspections/reminders/"


@pytest.fixture
def pump(yard: Yard) -> Yard:
    yard.receive("P-1", kind="pump", serial="1", passed=False)
    return yard


def post(yard: Yard, name: str, **sent: str):
    return yard.client(name).post(PAGE, sent, follow=True)


def test_everybody_finds_it_from_every_page_and_it_opens(pump):
    for name in PEOPLE:
        client = pump.client(name)
        assert f'href="{PAGE}"' in client.get(reverse("today")).content.decode()
        answer = client.get(PAGE)
        assert answer.status_code == 200
        assert "no-store" in answer["Cache-Control"]


def test_it_asks_for_signing_in():
    assert Client().get(PAGE).status_code == 302


def test_the_preview_is_todays_digest_of_ones_own_roles(pump):
    answer = pump.client("eve").get(PAGE)
    assert answer.context["sections"] == digest_of({Role.EXAMINER}, pump.holm, pump.today)
    assert "pump: inspection never done" in answer.content.decode()
    assert "Nothing needs you here today." in pump.client("sal").get(PAGE).content.decode()


def test_an_address_is_kept_and_taken_away_again(pump):
    assert (
        "Reminders go to eve@depot.example."
        in post(pump, "eve", do="address", address="eve@depot.example").content.decode()
    )
    pump.people["eve"].refresh_from_db()
    assert pump.people["eve"].email == "eve@depot.example"
    post(pump, "eve", do="address", address="")
    pump.people["eve"].refresh_from_db()
    assert pump.people["eve"].email == ""


def test_a_wrong_address_is_refused_at_its_field_and_nothing_is_kept(pump):
    answer = post(pump, "eve", do="address", address="eve at depot")
    assert answer.context["address"].errors["address"]
    assert 'value="eve at depot"' in answer.content.decode()
    pump.people["eve"].refresh_from_db()
    assert pump.people["eve"].email == ""


def test_mail_is_stopped_and_started_for_each_depot_apart(pump):
    pump.appoint("eve", pump.weir, Role.EXAMINER)
    page = post(pump, "eve", do="stop", depot="Weir").content.decode()
    assert "You get no more reminders of Weir by mail." in page
    [wish] = MailWish.objects.all()
    assert (wish.user.username, wish.depot.code, wish.wants) == ("eve", "Weir", False)
    post(pump, "eve", do="start", depot="Weir")
    assert MailWish.objects.get().wants


def test_the_address_of_the_calendar_is_shown_once_and_opens_it(pump):
    answer = post(pump, "eve", do="make", depot="Holm")
    url = answer.context["made"]["url"]
    assert f'value="{url}"' in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
    read = Client().get(url.removeprefix("http://testserver"))
    assert read.status_code == 200
    assert Calendar.from_ical(read.content).walk("VEVENT")
    later = pump.client("eve").get(PAGE).content.decode()
    assert url not in later
    assert url.rpartition("/")[2].removesuffix(".ics") not in later
    assert "last read" in later


def test_a_new_address_ends_the_one_before_and_revoking_ends_it_for_good(pump):
    first, second = (post(pump, "eve", do="make", depot="Holm").context["made"]["url"] for _each in range(2))
    assert first != second
    assert Client().get(first).status_code == 404
    assert Client().get(second).status_code == 200
    post(pump, "eve", do="revoke", depot="Holm")
    assert Client().get(second).status_code == 404
    assert not FeedKey.objects.exists()


@pytest.mark.parametrize("do", ["make", "revoke", "stop", "start"])
def test_of_a_depot_where_one_has_no_role_nothing_is_set(pump, do):
    assert post(pump, "eve", do=do, depot="Weir").status_code == 404
    assert not FeedKey.objects.exists()
    assert not MailWish.objects.exists()


def test_what_is_not_on_the_page_is_not_found(pump):
    assert post(pump, "eve", do="grant", depot="Holm").status_code == 404


def test_somebody_elses_calendar_is_left_alone(pump):
    url = post(pump, "sal", do="make", depot="Holm").context["made"]["url"]
    post(pump, "eve", do="make", depot="Holm")
    post(pump, "eve", do="revoke", depot="Holm")
    assert Client().get(url).status_code == 200


def test_the_ledger_tells_of_none_of_it_and_still_proves(pump):
    before = prove_ledger().entries
    post(pump, "eve", do="make", depot="Holm")
    post(pump, "eve", do="stop", depot="Holm")
    proof = prove_ledger()
    assert (proof.fault, proof.entries) == (None, before)
