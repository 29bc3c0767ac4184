"""Words to look up without scripts, each with an anchor; the sheet of keys as a page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.urls import reverse

from kit.glossary import COMMON, WORDS
from kit.keys import KEYS
from kit.models import Role
from tests.kit.views.yard import EVERY_ROLE, Yard, seat, yard

pytestmark = pytest.mark.django_db
TEMPLATES = Path(__file__).resolve().parents[3] / "templates"


@pytest.fixture
def place() -> Yard:
    return yard()


def slugs(answer) -> set[str]:
    return {each["word"].slug for each in answer.context["found"]}


def test_every_word_has_an_anchor_of_its_own_and_says_where_it_is_from(place):
    text = seat(Role.CREW, place.north).get(reverse("words")).content.decode()
    assert len({word.slug for word in WORDS}) == len(WORDS)
    for word in WORDS:
        assert f'id="{word.slug}"' in text
        assert str(word.source)
    assert text.count(str(COMMON).replace("'", "&#x27;")) == sum(word.source == COMMON for word in WORDS) > 10


def test_words_are_found_by_parts_in_name_or_meaning(place):
    client = seat(Role.STORES, place.north)
    assert slugs(client.get(reverse("words"), {"q": "TURN-round"})) == {"turn-round"}
    assert slugs(client.get(reverse("words"), {"q": "never conceded"})) == {"concession"}
    assert len(slugs(client.get(reverse("words"), {"q": "  "}))) == len(WORDS)
    nothing = client.get(reverse("words"), {"q": "<b>zebra"})
    assert slugs(nothing) == set()
    assert "No word here speaks of “&lt;b&gt;zebra”" in nothing.content.decode()


def test_words_are_found_in_german(place):
    client = seat(Role.STORES, place.north)
    client.cookies["django_language"] = "de"
    assert "guard" in slugs(client.get(reverse("words"), {"q": "schutzband"}))


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_a_word_leads_only_to_screens_that_open(place, role):
    client = seat(role, place.north)
    addresses = {each["url"] for each in client.get(reverse("words")).context["found"]} - {""}
    assert len(addresses) > 4
    for address in addresses:
        assert client.get(address).status_code == 200, address


def test_links_to_words_lead_to_anchors_that_are_there():
    known = {word.slug for word in WORDS}
    linked = set()
    for path in TEMPLATES.rglob("*.html"):
        linked |= set(re.findall(r"{% url 'words' %}#([\w-]+)", path.read_text(encoding="utf-8")))
    assert linked
    assert linked <= known


def test_the_sheet_of_keys_is_a_page_and_a_part(place):
    client = seat(Role.PLANNER, place.north)
    page = client.get(reverse("keys")).content.decode()
    part = client.get(reverse("keys"), {"sheet": "1"}).content.decode()
    assert "<html" in page
    assert "<html" not in part
    for group in KEYS:
        for key in group.keys:
            assert str(key.does) in page
            assert str(key.does) in part
    assert "? as well: a scanner types" in page


def test_every_page_leads_to_words_roles_and_keys(place):
    for role in EVERY_ROLE:
        text = seat(role, place.north).get(reverse("today")).content.decode()
        for name in ("words", "roles", "keys"):
            assert f'href="{reverse(name)}"' in text
