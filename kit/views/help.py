"""Help where it is needed: the words of the trade, and what the keyboard does."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse

from kit.glossary import WORDS, Word
from kit.keys import KEYS
from kit.views.desk import at_desk, ways_of

LONGEST_SEARCH = 100
FOR_ALL = {"kinds", "mains", "arrangements", "roles"}
"""Screens that everybody may open though not everybody has them in the navigation."""


@at_desk()
def words(request: HttpRequest) -> HttpResponse:
    """All words, or those that speak of what is looked for; each with an anchor that pages link to."""
    asked = request.GET.get("q", "")[:LONGEST_SEARCH].strip()
    mine = FOR_ALL | {name for _label, name, _icon in ways_of(request.desk.roles)}
    found = [_shown(word, mine) for word in WORDS if not asked or word.speaks_of(asked)]
    found.sort(key=lambda each: str(each["word"].name).casefold())
    return render(request, "help/words.html", {"found": found, "asked": asked, "all": len(WORDS)})


def _shown(word: Word, mine: set[str]) -> dict[str, Any]:
    """The word, with the address of its screen where the person may open that."""
    try:
        return {"word": word, "url": reverse(word.screen) if word.screen in mine else ""}
    except NoReverseMatch:
        return {"word": word, "url": ""}


@at_desk()
def keys(request: HttpRequest) -> HttpResponse:
    """The sheet of keys as a page that prints; only its inside where a script asks for it."""
    template = "help/keys_sheet.html" if "sheet" in request.GET else "help/keys.html"
    return render(request, template, {"groups": KEYS})
