"""On a German page no kind and no check that is shipped stands in English, whoever of the demo looks.

Left out is what people wrote or named themselves, and what the ledger tells, which stays as it was recorded.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from django.contrib.auth.models import User
from django.test import Client

from demo_fixtures import first_days
from inspections.models import Attachment, CaseNote, Check, QuarantineCase
from kit.models import Arrangement, Item, Job, Place
from tests.browser.pages import _NOT_PAGES, make_of
from tests.sentences import shipped_names

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long, pytest.mark.once]

SHOWN_BY = ("aria-label", "placeholder", "title", "alt", "data-label", "data-aside")
MEANT_FOR_PROGRAMS = ("script", "style", "pre")
# Notes of the ledger.
STORED = ("story",)
# Tags that have no end: they do not count towards how deep a page stands in its story.
VOID = frozenset({"br", "hr", "img", "input", "link", "meta", "source", "col"})


class _Page(HTMLParser):
    """What a person reads on a page, but for the notes of the ledger, and where its links lead."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: set[str] = set()
        self.links: set[str] = set()
        self.left_out: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "a" and given.get("href", "").startswith("/"):
            self.links.add(given["href"].partition("#")[0])
        if tag in VOID:
            return
        if self.left_out or tag in MEANT_FOR_PROGRAMS or given.get("class") in STORED:
            self.left_out.append(tag)
            return
        self.texts |= {given[name] for name in SHOWN_BY if given.get(name)}

    def handle_endtag(self, tag: str) -> None:
        if self.left_out and tag not in VOID:
            self.left_out.pop()

    def handle_data(self, data: str) -> None:
        if not self.left_out and data.strip():
            self.texts.add(" ".join(data.split()))


def own_names() -> list[str]:
    """What a depot named or wrote that holds the name of something shipped, the longest first."""
    shipped = shipped_names()
    written = {
        *Place.objects.values_list("name", flat=True),
        *Item.objects.values_list("maker", flat=True),
        *Item.objects.values_list("note", flat=True),
        *Job.objects.values_list("site", flat=True),
        *Attachment.objects.values_list("note", flat=True),
        *CaseNote.objects.values_list("text", flat=True),
        # "damaged on QB-100: skirt cut": the program's words are said in German, the person's stay.
        *(why.partition(": ")[2] or why for why in QuarantineCase.objects.values_list("why", flat=True)),
        *Check.objects.values_list("name", flat=True),
        *Arrangement.objects.values_list("name", flat=True),
    }
    return sorted({name for name in written if name and name not in shipped}, key=len, reverse=True)


def test_no_shipped_name_is_shown_in_english(demo: None) -> None:
    own = re.compile("|".join(map(re.escape, own_names())), re.IGNORECASE)
    names = "|".join(re.escape(name) for name in sorted(shipped_names(), key=len, reverse=True))
    english = re.compile(rf"(?<![\w-])(?:{names})(?![\w'-])", re.IGNORECASE)
    found: dict[str, set[str]] = {}
    for person in first_days.PEOPLE:
        client = Client()
        client.force_login(User.objects.get(username=person.username))
        client.cookies["django_language"] = "de"
        seen: set[str] = set()
        waiting = ["/"]
        while waiting:
            address = waiting.pop(0)
            make = make_of(address.partition("?")[0])
            if make == "entry" or make in seen or _NOT_PAGES.search(address.partition("?")[0]):
                continue
            seen.add(make)
            answer = client.get(address)
            if answer.status_code != 200 or "html" not in answer["Content-Type"]:
                continue
            page = _Page()
            page.feed(answer.content.decode())
            waiting += sorted(page.links)
            shown = {text for text in page.texts if english.search(own.sub("", text))}
            if shown:
                found.setdefault(make, set()).update(shown)
        assert len(seen) > 20, f"{person.username} saw {len(seen)} pages"
    assert found == {}
