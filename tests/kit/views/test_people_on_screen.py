"""People and roles on screen: by whom, looked at first, and a password that only its owner ever sees."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from kit.models import LedgerEntry, Membership, Role
from kit.stores import prove_ledger
from tests.kit.views.yard import EVERY_ROLE, Yard, person, record_as_seen, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


@pytest.fixture
def lead(place: Yard) -> Client:
    return seat(Role.COMPLIANCE, place.north)


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_only_who_may_appoint_gets_to_people_and_all_read_what_roles_may_do(place, role):
    crew = person(Role.CREW, place.north, name="c.rew")
    client = seat(role, place.north)
    allowed = role == Role.COMPLIANCE
    for address in (
        reverse("people"),
        reverse("new_person"),
        reverse("person", args=[crew.pk]),
        reverse("change_person", args=[crew.pk, "give"]),
        reverse("change_person", args=[crew.pk, "close"]),
        reverse("password_link", args=[crew.pk]),
    ):
        assert client.get(address).status_code == (200 if allowed else 403), address
        if not allowed:
            data = {"why": "x", "role": "stores", "seen": "x", "username": "x"}
            assert client.post(address, data).status_code == 403
    text = client.get(reverse("roles")).content.decode()
    assert "release from quarantine what somebody else set aside" in text
    assert list(Membership.objects.filter(user=crew).values_list("role", flat=True)) == [Role.CREW]


def test_a_role_is_looked_at_and_given_and_holds_at_once(place, lead):
    crew = seat(Role.CREW, place.north, name="c.rew")
    user = User.objects.get(username="c.rew")
    address = reverse("change_person", args=[user.pk, "give"])
    assert crew.get(reverse("counter")).status_code == 403
    shown = lead.post(address, {"role": "stores", "why": "takes the counter"}).content.decode()
    assert "May from now on, at North yard" in shown
    assert "issue at the counter" in shown
    assert crew.get(reverse("counter")).status_code == 403
    page = record_as_seen(lead, address, {"role": "stores", "why": "takes the counter"}).content.decode()
    assert "That is recorded" in page
    assert "takes the counter" in page
    assert crew.get(reverse("counter")).status_code == 200
    away = reverse("change_person", args=[user.pk, "take"]) + "?role=stores"
    shown = lead.post(away, {"why": "back on the van"}).content.decode()
    assert "May no longer, at North yard" in shown
    assert "Nobody with an open account would be Stores person at North yard any more." in shown
    record_as_seen(lead, away, {"why": "back on the van"})
    assert crew.get(reverse("counter")).status_code == 403
    assert prove_ledger().fault is None


def test_a_change_without_a_reason_or_of_oneself_is_refused_in_a_sentence(place, lead):
    me = User.objects.get(username="the.compliance")
    address = reverse("change_person", args=[me.pk, "give"])
    assert (
        "Nobody gives a role to themselves"
        in lead.post(address, {"role": "duty manager", "why": "x"}).content.decode()
    )
    away = reverse("change_person", args=[me.pk, "take"]) + "?role=compliance"
    assert "the last who may appoint" in lead.post(away, {"why": "x"}).content.decode()
    page = lead.get(reverse("person", args=[me.pk])).content.decode()
    assert reverse("password_link", args=[me.pk]) not in page
    assert lead.post(address, {"role": "stores"}).context["foreseen"] is None
    assert lead.get(reverse("change_person", args=[me.pk, "promote"])).status_code == 404
    # Which role is not said: the person's page asks.
    assert lead.get(reverse("change_person", args=[me.pk, "take"]))["Location"] == reverse(
        "person", args=[me.pk]
    )


def test_people_of_another_depot_are_not_in_sight(place, lead):
    far = person(Role.STORES, place.mill, name="f.ar")
    assert "f.ar" not in lead.get(reverse("people")).content.decode()
    assert lead.get(reverse("person", args=[far.pk])).status_code == 404
    assert lead.post(reverse("password_link", args=[far.pk]), {"why": "x"}).status_code == 404


def test_a_person_is_added_and_sets_a_password_by_a_link_that_works_once(place, lead):
    data = {"username": "n.quay", "first_name": "Nell", "last_name": "", "role": "stores", "why": "new"}
    page = record_as_seen(lead, reverse("new_person"), data).content.decode()
    assert "No password is set yet" in page
    user = User.objects.get(username="n.quay")
    answer = lead.post(reverse("password_link", args=[user.pk]), {"why": "first day"})
    link = answer.context["link"]
    assert "no-store" in answer["Cache-Control"]
    assert link not in lead.get(reverse("password_link", args=[user.pk])).content.decode()
    new = Client()
    form = new.get(link, follow=True)
    assert link.rsplit("/", 2)[1] not in form.redirect_chain[-1][0]
    word = "eleven pale lanterns"
    weak = new.post(form.redirect_chain[-1][0], {"new_password1": "n.quay", "new_password2": "n.quay"})
    assert weak.status_code == 200
    done = new.post(form.redirect_chain[-1][0], {"new_password1": word, "new_password2": word}, follow=True)
    assert "Your password is set" in done.content.decode()
    assert Client().login(username="n.quay", password=word)
    assert "was used already" in Client().get(link, follow=True).content.decode()
    told = "".join(LedgerEntry.objects.values_list("body", flat=True))
    assert "link to set a password given out for n.quay: first day" in told
    assert "password set by the link" in told
    for secret in (word, link, link.rsplit("/", 2)[1], User.objects.get(pk=user.pk).password):
        assert secret not in told
    assert prove_ledger().fault is None


def test_a_closed_account_cannot_sign_in_stays_signed_out_and_its_link_is_dead(place, lead):
    crew = seat(Role.CREW, place.north, name="c.rew")
    user = User.objects.get(username="c.rew")
    link = lead.post(reverse("password_link", args=[user.pk]), {"why": "forgotten"}).context["link"]
    record_as_seen(lead, reverse("change_person", args=[user.pk, "close"]), {"why": "left"})
    assert crew.get(reverse("today")).status_code == 302
    assert "was used already" in Client().get(link, follow=True).content.decode()
    assert "closed" in lead.get(reverse("people")).content.decode()
    record_as_seen(lead, reverse("change_person", args=[user.pk, "open"]), {"why": "back"})
    assert seat(Role.CREW, place.north, name="c.rew").get(reverse("today")).status_code == 200
