"""A person chooses the language; the device remembers it."""

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_german_is_chosen_on_the_sign_in_page_and_remembered(client):
    page = reverse("login")
    assert '<html lang="en">' in client.get(page).text
    answer = client.post(reverse("set_language"), {"language": "de", "next": page})
    assert answer.status_code == 302
    assert answer["Location"] == page
    assert client.cookies["django_language"]["max-age"] == 365 * 24 * 3600
    german = client.get(page).text
    assert '<html lang="de">' in german
    assert "Anmelden" in german
    client.post(reverse("set_language"), {"language": "en", "next": page})
    assert "Sign in" in client.get(page).text


def test_a_language_that_is_not_offered_changes_nothing(client):
    client.post(reverse("set_language"), {"language": "xx", "next": reverse("login")})
    assert "django_language" not in client.cookies
