"""Pages that went wrong say what happened, what to do, and lead back to where this role works."""

from __future__ import annotations

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from kit.models import Role
from kit.views.desk import WORK
from tests.kit.views.yard import EVERY_ROLE, Yard, person, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_not_found_leads_back_to_where_the_role_works(place, role):
    answer = seat(role, place.north).get("/items/NO-SUCH/")
    text = answer.content.decode()
    assert answer.status_code == 404
    assert f'href="{reverse(WORK[role])}"' in text
    assert "Back to:" in text
    assert f'action="{reverse("register")}"' in text


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_where_a_role_works_opens_for_it(place, role):
    assert seat(role, place.north).get(reverse(WORK[role])).status_code == 200


def test_an_address_that_is_none_says_so_to_strangers_too():
    text = Client().get("/no/such/page/").content.decode()
    assert "There is no such page" in text
    assert reverse("register") not in text


def test_refused_says_what_one_is_and_who_gives_roles(place):
    answer = seat(Role.CREW, place.north).get(reverse("ledger"))
    text = answer.content.decode()
    assert answer.status_code == 403
    assert "At North yard you are: Van crew." in text
    assert reverse("roles") in text
    assert f'href="{reverse(WORK[Role.CREW])}"' in text


def test_somebody_without_a_role_can_sign_in_as_somebody_else(place):
    client = Client()
    client.force_login(person(Role.CREW, name="no.role"))
    text = client.get(reverse("today")).content.decode()
    assert "Sign in as somebody else" in text
    assert "Back to:" not in text


@pytest.mark.parametrize(
    ("role", "said"),
    [
        (Role.STORES, "a scan that was not answered was not taken"),
        (Role.EXAMINER, "the clocks of hold tests run on"),
    ],
)
def test_a_page_too_old_to_send_leads_back_and_says_what_to_look_at(place, role, said):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(person(role, place.north))
    answer = strict.post(reverse("switch_depot"), {"depot": "NY"})
    text = answer.content.decode()
    assert answer.status_code == 403
    assert f'href="{reverse(WORK[role])}"' in text
    assert said in text
    others = {"a scan that was not answered", "the clocks of hold tests"} - {said[:28], said[:24]}
    assert all(other not in text for other in others)


def test_a_page_too_old_to_send_leads_a_stranger_to_the_first_page():
    answer = Client(enforce_csrf_checks=True).post(reverse("login"), {"username": "x"})
    assert answer.status_code == 403
    assert "Go to the first page" in answer.content.decode()


def test_a_fault_says_for_each_work_what_to_look_at_and_needs_no_context():
    text = render_to_string("500.html")
    for said in ("At the counter:", "At the bench:", "In the plan:", "Go to the first page"):
        assert said in text
