"""Who gets to which screen: a page for those whose role includes it, a plain refusal for others."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from kit.models import Role
from tests.kit.views.holm import PEOPLE, Yard

EVERYBODY = set(PEOPLE)
SCREENS = {
    "today": EVERYBODY,
    "register": EVERYBODY,
    "quarantine": EVERYBODY,
    "counter": {"sal"},
    "stock_takes": {"sal", "lee"},
    "receive": {"sal", "lee"},
    "register_export": {"sal", "lee", "eve", "max", "pat"},
    "ledger": {"lee"},
}
ITEM_SCREENS = {
    ("item", ()): EVERYBODY,
    ("record", ()): {"eve", "max"},
    ("release", ()): {"eve", "max", "lee"},
    ("item_act", ("set-aside",)): EVERYBODY - {"pat"},
    ("item_act", ("lost",)): EVERYBODY - {"pat"},
    ("item_act", ("change",)): {"sal", "lee"},
    ("item_act", ("withdraw",)): {"sal", "lee"},
    ("item_act", ("send",)): {"sal"},
}


@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_opens_for_the_roles_that_it_is_for(yard: Yard, screen: str):
    for name in PEOPLE:
        answer = yard.client(name).get(reverse(screen))
        assert answer.status_code == (200 if name in SCREENS[screen] else 403), name


@pytest.mark.parametrize(("screen", "args"), ITEM_SCREENS)
def test_a_screen_of_an_item_opens_for_the_roles_that_it_is_for(yard: Yard, screen: str, args: tuple):
    yard.receive("G-1")
    for name in PEOPLE:
        answer = yard.client(name).get(reverse(screen, args=[*args, "G-1"]))
        assert answer.status_code == (200 if name in ITEM_SCREENS[screen, args] else 403), name


def test_what_one_may_not_open_one_may_not_send_either(yard: Yard):
    item = yard.receive("G-1")
    assert (
        yard.client("pat").post(reverse("item_act", args=["set-aside", "G-1"]), {"why": "x"}).status_code
        == 403
    )
    assert (
        yard.client("cal").post(reverse("item_act", args=["withdraw", "G-1"]), {"why": "x"}).status_code
        == 403
    )
    assert yard.client("sal").post(reverse("record", args=["G-1"]), {}).status_code == 403
    assert yard.client("cal").post(reverse("receive"), {}).status_code == 403
    assert yard.client("sal").post(reverse("ledger")).status_code == 403
    item.refresh_from_db()
    assert item.state == "available"


def test_a_refusal_says_who_can_help(yard: Yard):
    answer = yard.client("cal").get(reverse("ledger"))
    assert "Ask a compliance lead" in answer.content.decode()


def test_without_signing_in_every_screen_asks_for_it(yard: Yard):
    yard.receive("G-1")
    addresses = [reverse(screen) for screen in SCREENS] + [
        reverse(s, args=[*a, "G-1"]) for s, a in ITEM_SCREENS
    ]
    for address in addresses:
        answer = Client().get(address)
        assert answer.status_code == 302, address
        assert answer["Location"].startswith(reverse("login"))


def test_of_a_depot_where_one_has_no_role_one_sees_no_item(yard: Yard):
    yard.receive("W-1", depot=yard.weir)
    assert yard.client("wyn").get(reverse("item", args=["W-1"])).status_code == 200
    for name in PEOPLE:
        client = yard.client(name)
        assert client.get(reverse("item", args=["W-1"])).status_code == 404
        assert client.get(reverse("record", args=["W-1"])).status_code == 404
        assert client.post(reverse("item_act", args=["set-aside", "W-1"]), {"why": "x"}).status_code == 404
        found = client.get(reverse("register"), {"depot": "", "q": "W-1"}).content.decode()
        assert reverse("item", args=["W-1"]) not in found


def test_a_role_counts_only_at_its_own_depot(yard: Yard):
    """Sal keeps the stores at Holm and only drives at Weir."""
    yard.appoint("sal", yard.weir, Role.CREW)
    yard.receive("W-1", depot=yard.weir)
    client = yard.client("sal")
    page = client.get(reverse("item", args=["W-1"])).content.decode()
    assert reverse("item_act", args=["set-aside", "W-1"]) in page
    assert reverse("item_act", args=["withdraw", "W-1"]) not in page
    assert client.post(reverse("item_act", args=["withdraw", "W-1"]), {"why": "worn"}).status_code == 403
    client.post(reverse("switch_depot"), {"depot": "Weir"})
    assert client.get(reverse("counter")).status_code == 403


def test_somebody_without_any_role_is_told_so(yard: Yard, django_user_model):
    yard.people["new"] = django_user_model.objects.create_user("new")
    answer = yard.client("new").get(reverse("today"))
    assert answer.status_code == 403
    assert "Ask a compliance lead" in answer.content.decode()
