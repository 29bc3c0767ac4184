"""Every form that any role comes to on the demo, sent as it stands and with nothing filled in: none ends in a fault of
the program, in a refusal of something that was offered, or at a page that is not there. What a form did is taken back
before the next is sent.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from urllib.parse import urljoin, urlsplit

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client
from lxml import html

from kit.models import Role
from tests.browser.pages import _NOT_PAGES, make_of

# The same forms on either engine: what each of them does is tested on both.
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long, pytest.mark.once]

# Whoever signs out sees no further page.
LEFT_ALONE = ("/sign-out/", "/sign-in/")
LEAST_FORMS = {
    Role.STORES: 40,
    Role.CREW: 8,
    Role.PLANNER: 25,
    Role.EXAMINER: 20,
    Role.COMPLIANCE: 40,
    Role.DUTY: 8,
}


class Undone(Exception):
    """Raised to take back what a form did."""


def pages_of(client: Client) -> Iterator[tuple[str, Any]]:
    """One page of each make that can be reached by links, parsed, with its address."""
    seen: set[str] = set()
    waiting = ["/"]
    while waiting:
        path = waiting.pop(0)
        make = make_of(urlsplit(path).path)
        if make in seen or _NOT_PAGES.search(urlsplit(path).path):
            continue
        seen.add(make)
        answer = client.get(path, follow=True)
        assert answer.status_code == 200, f"{path} answers {answer.status_code}"
        if "html" not in answer["Content-Type"]:
            continue
        page = html.fromstring(answer.content)
        yield path, page
        waiting += [
            urljoin(path, link).partition("#")[0]
            for link in page.xpath("//a/@href")
            if not urlsplit(urljoin(path, link)).netloc
        ]


def sendings(page: Any, path: str) -> Iterator[tuple[str, str, dict[str, list[str]]]]:
    """Method, address and values of each form of a page: for each of its buttons as it stands, and
    once with nothing filled in."""
    for form in page.forms:
        address = urljoin(path, form.get("action") or path)
        method = (form.get("method") or "get").lower()
        if method == "dialog" or urlsplit(address).path.startswith(LEFT_ALONE):
            continue
        values: dict[str, list[str]] = {}
        for name, value in form.form_values():
            values.setdefault(name, []).append(value)
        # What a person writes; what is chosen, ticked or hidden is sent whether they like it or not.
        written = {
            field.get("name")
            for field in form.xpath(
                ".//textarea[@name] | .//input[@name][not(@type) or @type='text' or @type='search']"
            )
        }
        buttons = form.xpath(".//button[not(@type='button')] | .//input[@type='submit']") or [None]
        for number, button in enumerate(buttons):
            named = button is not None and button.get("name")
            own = {button.get("name"): [button.get("value") or ""]} if named else {}
            to = button.get("formaction") if button is not None else None
            sent_to = urljoin(path, to) if to else address
            yield method, sent_to, {**values, **own}
            if number == 0 and written:
                yield method, sent_to, {**values, **{name: [""] for name in written}, **own}


def answer_of(client: Client, method: str, address: str, values: dict[str, list[str]]) -> int:
    """The status that sending it ends with; whatever it did is taken back."""
    status = 0
    try:
        with transaction.atomic():
            answer = (
                client.post(address, values, follow=True)
                if method == "post"
                else client.get(urlsplit(address).path, values, follow=True)
            )
            status = answer.status_code
            raise Undone
    except Undone:
        return status


@pytest.mark.parametrize("role", list(LEAST_FORMS))
def test_every_form_of_every_role_answers(demo: None, role: Role) -> None:
    client = Client(raise_request_exception=False)
    client.force_login(
        User.objects.filter(memberships__role=role).order_by("pk")[0],
        backend="django.contrib.auth.backends.ModelBackend",
    )
    sent: set[tuple[str, str, str]] = set()
    faults: list[str] = []
    for path, page in pages_of(client):
        for method, address, values in sendings(page, path):
            filled = sorted(f"{name}{'' if any(value) else '-'}" for name, value in values.items())
            key = (method, make_of(urlsplit(address).path), ",".join(filled))
            if key in sent:
                continue
            sent.add(key)
            status = answer_of(client, method, address, values)
            if status not in (200, 400, 422) or (status == 400 and values):
                faults.append(f"{path}: {method} {address} {sorted(values)} ends with {status}")
    assert not faults, "\n".join(faults)
    assert len(sent) >= LEAST_FORMS[role], f"{role} came to {len(sent)} forms only"
