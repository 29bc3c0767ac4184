"""The tour walked on the demo as each role: every step opens, and what it says to look for is on the page."""

from __future__ import annotations

from html import escape

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils.translation import override

from demo_fixtures import first_days
from kit.models import LedgerEntry, TourStep
from kit.tour import STEPS, steps_for

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.once]


def seat(person) -> Client:
    client = Client()
    client.force_login(User.objects.get(username=person.username))
    return client


def walk(client: Client) -> list[str]:
    """Follow every step; what is not as it promises."""
    wrong = []
    for row in client.get(reverse("tour")).context["rows"]:
        step = row["step"]
        answer = client.get(row["url"], follow=True)
        said = answer.content.decode().partition("<main")[2].partition("</main>")[0]
        if answer.status_code != 200 or escape(str(step.shows)) not in said:
            wrong.append(f"{step.slug}: {answer.status_code}, {step.shows!s} is not on {row['url']}")
    return wrong


def test_every_step_opens_and_shows_what_it_says_for_every_role(demo):
    lists = {reverse(name) for name in ("jobs", "register", "kinds", "counter")}
    walked = set()
    for person in first_days.PEOPLE:
        client = seat(person)
        rows = client.get(reverse("tour")).context["rows"]
        assert len(rows) >= 4
        # What the demo has, a step finds: it does not lead to a list instead.
        found = [
            row
            for row in rows
            if row["step"].to in ("job_out", "job_short", "load_list", "quarantined", "failed")
        ]
        assert not {row["url"] for row in found} & lists
        assert walk(client) == []
        client.cookies["django_language"] = "de"
        with override("de"):
            assert walk(client) == []
        walked |= {row["step"].slug for row in rows}
    assert walked == {step.slug for step in STEPS}


def test_what_was_seen_is_kept_per_person_and_not_in_the_ledger(demo):
    entries = LedgerEntry.objects.count()
    client = seat(first_days.STORES)
    slugs = [row["step"].slug for row in client.get(reverse("tour")).context["rows"]]
    answer = client.post(reverse("tour"), {"step": slugs[0]})
    assert answer["Location"] == f"{reverse('tour')}#{slugs[1]}"
    client.post(reverse("tour"), {"step": slugs[0]})
    shown = client.get(reverse("tour")).context
    assert (shown["done"], shown["next"]) == (1, slugs[1])
    assert TourStep.objects.count() == 1
    assert seat(first_days.CREW).get(reverse("tour")).context["done"] == 0
    client.post(reverse("tour"), {"step": slugs[0], "again": "1"})
    assert client.get(reverse("tour")).context["done"] == 0
    assert LedgerEntry.objects.count() == entries


def test_a_step_of_another_role_is_not_marked(demo):
    answer = seat(first_days.STORES).post(reverse("tour"), {"step": "bench"})
    assert answer.status_code == 404
    assert not TourStep.objects.exists()


def test_steps_have_names_of_their_own():
    assert len({step.slug for step in STEPS}) == len(STEPS)
    assert [step.slug for step in steps_for([])] == ["words"]
