"""A depot of which nothing is in the book yet: every list says what it is for and how something gets there."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.glossary import WORDS
from kit.models import Deed, Depot, Role
from kit.stores import acting, found_register, receive
from tests.kit.views.yard import EVERY_ROLE, STORES, bag, seat

pytestmark = pytest.mark.django_db

TAUGHT = {
    "jobs": (Role.PLANNER, "A planner enters one here"),
    "register": (Role.STORES, "Pieces come in one by one by goods in"),
    "due": (Role.EXAMINER, "Due dates follow from the checks of each kind"),
    "bench": (Role.EXAMINER, "comes here by itself, once pieces are in the register"),
    "hold_bench": (Role.EXAMINER, "Blow up a bag, shut it off, and scan it."),
    "quarantine": (Role.STORES, "A case opens by itself"),
    "concessions": (Role.DUTY, "One is asked for on the page of a piece"),
    "reviews": (Role.COMPLIANCE, "A calibration that fails as found"),
    "transfers": (Role.STORES, "A consignment is what goes from one depot to another"),
    "stock_takes": (Role.STORES, "Begin below with a place"),
    "places": (Role.STORES, "A place is set up when the first item is put there"),
    "what_if": (Role.PLANNER, "it keeps what might be beside what is"),
    "mains": (Role.PLANNER, "A planner enters one here"),
    "plan_board": (Role.PLANNER, "or plan a job"),
    "breaks": (Role.PLANNER, "Nothing breaks: every promise holds"),
    "crew_calendars": (Role.PLANNER, "among its details"),
}


@pytest.fixture
def empty() -> Depot:
    with acting(STORES) as act:
        found_register(act)
        depot = act.create(Depot(code="NY", name="North yard"))
        act.tell(Deed.CHANGED, [depot])
    return depot


@pytest.mark.parametrize("name", TAUGHT)
def test_an_empty_list_says_how_something_gets_there(empty, name):
    role, said = TAUGHT[name]
    answer = seat(role, empty).get(reverse(name))
    assert answer.status_code == 200
    assert said in answer.content.decode()


@pytest.mark.parametrize("name", ["register", "due", "bench", "quarantine", "concessions", "transfers"])
def test_an_empty_list_leads_to_the_word_for_it(empty, name):
    text = seat(TAUGHT[name][0], empty).get(reverse(name)).content.decode()
    _before, found, behind = text.partition(f'href="{reverse("words")}#')
    assert found
    assert behind.partition('"')[0] in {word.slug for word in WORDS}


def test_three_empty_tables_of_consignments_say_it_once(empty):
    text = seat(Role.STORES, empty).get(reverse("transfers")).content.decode()
    assert text.count("A consignment is what goes") == 1


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_today_at_an_empty_depot_says_what_comes_first_and_every_link_opens(empty, role):
    client = seat(role, empty)
    text = client.get(reverse("today")).content.decode()
    assert "The register of this depot is empty" in text
    panel = text.partition('id="begin"')[2].partition("</section>")[0]
    links = [part.partition('"')[0] for part in panel.split('href="')[1:]]
    for link in links:
        assert client.get(link).status_code == 200, link
    assert bool(links) == (role in (Role.STORES, Role.PLANNER, Role.COMPLIANCE))


def test_today_says_it_no_more_once_a_piece_is_there(empty):
    with acting(STORES) as act:
        receive(act, [bag(empty, "NY-B1")])
    text = seat(Role.STORES, empty).get(reverse("today")).content.decode()
    assert "The register of this depot is empty" not in text


def test_the_duty_manager_is_told_that_nothing_waits(empty):
    text = seat(Role.DUTY, empty).get(reverse("today")).content.decode()
    assert "Nothing waits for you today" in text
    assert "Nothing waits for you today" not in seat(Role.CREW, empty).get(reverse("today")).content.decode()
