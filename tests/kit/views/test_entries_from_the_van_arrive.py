"""Where a phone sends what was entered beside the van: who may, what is refused whole, and what stores see of it."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kit.models import Role, State, Taken, VanEntry
from kit.stores import issue_piece, reserve
from kit.stores.act import acting
from tests.kit.views.yard import STORES, Yard, person, seat, yard

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]


@pytest.fixture
def place() -> Yard:
    made = yard()
    with acting(STORES) as act:
        reserve(act, made.job)
        issue_piece(act, made.job, made.item("NY-B1"))
    return made


@pytest.fixture
def crew(place: Yard) -> Client:
    return seat(Role.CREW, place.north)


def entry(**other: Any) -> dict[str, Any]:
    return {
        "uid": str(uuid4()),
        "job": "J/26-104",
        "what": "seen",
        "code": "NY-B1",
        "said_at": timezone.now().isoformat(),
        "by": "the.crew",
        **other,
    }


def sent(client: Client, *entries: dict[str, Any], **other: Any) -> Any:
    body = {"device_now": timezone.now().isoformat(), "entries": list(entries), **other}
    return client.post(reverse("van_entries"), json.dumps(body), content_type="application/json")


def test_each_entry_is_answered_and_sent_again_it_is_answered_alike(crew: Client) -> None:
    given = [entry(), entry(what="failed", note="seam lets go"), entry(code="NOBODY-1")]
    first = sent(crew, *given).json()["entries"]
    assert [one["taken"] for one in first] == ["done", "done", "open"]
    assert "No piece of the register" in first[2]["why"]
    assert sent(crew, *given).json()["entries"] == first
    assert VanEntry.objects.count() == 3


def test_nobody_is_told_to_sign_in_and_nothing_is_written(place: Yard) -> None:
    for answer in (sent(Client(), entry()), Client().get(reverse("van_desk"))):
        assert answer.status_code == 401
        assert "Sign in" in answer.json()["fault"]
    assert not VanEntry.objects.exists()


def test_what_somebody_else_made_stays_in_the_phone(crew: Client) -> None:
    [answer] = sent(crew, entry(by="the.other")).json()["entries"]
    assert answer["taken"] == "refused"
    assert "the.other" in answer["why"]
    assert not VanEntry.objects.exists()


def test_a_role_that_enters_nothing_and_a_job_elsewhere_are_refused(place: Yard) -> None:
    for client, by in (
        (seat(Role.PLANNER, place.north), "the.planner"),
        (seat(Role.CREW, place.mill, name="mill.crew"), "mill.crew"),
    ):
        [answer] = sent(client, entry(by=by)).json()["entries"]
        assert answer["taken"] == "refused"
    assert not VanEntry.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"uid": "7"}, "no number of an entry"),
        ({"what": "released"}, "nothing that is entered"),
        ({"said_at": "2026-11-26T07:00"}, "no moment with its offset"),
        ({"said_at": "0001-01-01T00:00:00+00:00"}, "no moment with its offset"),
        ({"note": 7}, "cannot be read"),
        ({"note": "x" * 501}, "cannot be read"),
        ({"code": " "}, "names no piece"),
    ],
)
def test_what_cannot_be_read_is_refused_whole(crew: Client, wrong: dict[str, Any], said: str) -> None:
    answer = sent(crew, entry(), entry(**wrong))
    assert answer.status_code == 400
    assert said in answer.json()["fault"]
    assert not VanEntry.objects.exists()


def test_no_json_and_too_many_at_once_are_refused(crew: Client) -> None:
    answer = crew.post(reverse("van_entries"), b"{", content_type="application/json")
    assert (answer.status_code, answer.json()["fault"]) == (400, "What was sent is no JSON.")
    assert sent(crew, *[entry() for _ in range(101)]).status_code == 400
    assert not VanEntry.objects.exists()


def test_the_stores_settle_what_could_not_be_taken_in(place: Yard, crew: Client) -> None:
    sent(crew, entry(code="NY-B9", note="found on the van"))
    one = VanEntry.objects.get()
    stores = seat(Role.STORES, place.north)
    page = stores.get(reverse("van_reports")).content.decode()
    assert "NY-B9" in page
    assert "is not on its kit list" in page
    settle = reverse("van_settle", args=[one.pk])
    assert crew.post(settle, {"note": "mine"}).status_code == 403
    stores.post(settle, {"note": "taken off the van"})
    one.refresh_from_db()
    assert (one.taken, one.settled_note) == (Taken.SETTLED, "taken off the van")
    assert "taken off the van" in stores.get(reverse("van_reports")).content.decode()


def test_a_clock_that_is_off_is_shown_as_it_was(place: Yard, crew: Client) -> None:
    later = timezone.now() + timedelta(hours=3)
    answer = sent(crew, entry(said_at=later.isoformat()), device_now=later.isoformat()).json()
    assert abs(answer["clock_ahead_s"] - 3 * 3600) < 60
    page = seat(Role.STORES, place.north).get(reverse("van_reports")).content.decode()
    assert "3 h 0 min ahead of the store" in page


def test_the_page_shows_what_the_job_holds_and_what_is_amiss(place: Yard, crew: Client) -> None:
    sent(crew, entry(what="reported", note="hose chafed"))
    page = crew.get(reverse("van", args=["J/26-104"])).content.decode()
    assert page.count("data-piece=") == place.job.reservations.open().count()
    assert place.item("NY-B1").state == State.QUARANTINED
    assert "hose chafed" in page
    assert crew.get(reverse("vans")).status_code == 200
    assert person(Role.CREW, place.north).get_username() in page


def test_the_worker_is_served_for_the_pages_of_the_van(client: Client) -> None:
    answer = client.get(reverse("van_worker"))
    assert answer["Content-Type"] == "text/javascript"
    code = answer.content.decode()
    assert code.startswith("const VERSION = ")
    assert "/static/kit/js/van.js" in code
