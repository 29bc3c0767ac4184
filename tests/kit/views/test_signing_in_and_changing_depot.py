"""Signing in and out, and going to another depot: only to one's own, and never off this site."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from kit.models import Role
from tests.kit.views.holm import Yard


@pytest.fixture
def sal(yard: Yard) -> Client:
    yard.appoint("sal", yard.weir, Role.STORES)
    return yard.client("sal")


def test_a_person_signs_in_with_name_and_password_and_out_again(yard: Yard):
    user = yard.people["sal"]
    user.set_password("ten green bottles")
    user.save()
    client = Client()
    wrong = client.post(reverse("login"), {"username": "sal", "password": "nine"})
    assert wrong.status_code == 200
    assert "notice--refused" in wrong.content.decode()
    asked = client.get(reverse("register"))
    right = client.post(
        asked["Location"], {"username": "sal", "password": "ten green bottles", "next": reverse("register")}
    )
    assert right["Location"] == reverse("register")
    page = client.get(reverse("today")).content.decode()
    assert reverse("logout") in page
    assert "Holm" in page
    assert client.get(reverse("logout")).status_code == 405
    assert client.post(reverse("logout")).status_code == 302
    assert client.get(reverse("today")).status_code == 302


def test_a_person_goes_to_another_of_their_depots_and_stays_there(sal: Client, yard: Yard):
    yard.receive("W-1", depot=yard.weir)
    assert "W-1" not in sal.get(reverse("register")).content.decode()
    answer = sal.post(reverse("switch_depot"), {"depot": "Weir", "next": reverse("register")})
    assert answer["Location"] == reverse("register")
    assert "W-1" in sal.get(reverse("register")).content.decode()


@pytest.mark.parametrize("code", ["Weir", "nowhere", "", "\x00"])
def test_nobody_gets_to_a_depot_by_naming_it(yard: Yard, code: str):
    client = yard.client("pat")
    assert client.post(reverse("switch_depot"), {"depot": code}).status_code == 403
    assert client.get(reverse("today")).context["current_depot"] == yard.holm


def test_a_role_taken_away_is_gone_at_once_though_the_depot_was_chosen(sal: Client, yard: Yard):
    sal.post(reverse("switch_depot"), {"depot": "Weir"})
    yard.people["sal"].memberships.filter(depot=yard.weir).delete()
    assert sal.get(reverse("today")).context["current_depot"] == yard.holm


@pytest.mark.parametrize("onward", ["https://example.org/", "//example.org/", "javascript:alert(1)"])
def test_a_change_of_depot_never_leads_off_this_site(sal: Client, onward: str):
    answer = sal.post(reverse("switch_depot"), {"depot": "Weir", "next": onward})
    assert answer["Location"] == reverse("today")


def test_a_depot_is_not_changed_by_following_a_link(sal: Client):
    assert sal.get(reverse("switch_depot"), {"depot": "Weir"}).status_code == 405


def test_too_many_wrong_passwords_shut_the_name_out_for_a_while(yard: Yard, settings):
    settings.AXES_ENABLED = True
    user = yard.people["sal"]
    user.set_password("ten green bottles")
    user.save()
    client = Client(REMOTE_ADDR="192.0.2.7")
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = client.post(reverse("login"), {"username": "sal", "password": "nine"})
    assert answer.status_code == 429
    assert "shut out for a quarter of an hour" in answer.content.decode()
    right = client.post(reverse("login"), {"username": "sal", "password": "ten green bottles"})
    assert right.status_code == 429
    elsewhere = Client(REMOTE_ADDR="192.0.2.8")
    assert (
        elsewhere.post(reverse("login"), {"username": "sal", "password": "ten green bottles"}).status_code
        == 302
    )
