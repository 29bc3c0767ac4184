"""Help where it is needed: the words of the trade, what the keyboard does, and a tour by role."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import NoReverseMatch, reverse

from kit.glossary import WORDS, Word
from kit.keys import KEYS
from kit.tour import Step, mark, seen_by, steps_for
from kit.tour_ways import address_of
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


@at_desk()
def tour(request: HttpRequest) -> HttpResponse:
    """The steps of the person's roles, each with the screen it opens, what to look at, and whether it was seen."""
    steps = steps_for(request.desk.roles)
    if request.method == "POST":
        slug = request.POST.get("step", "")
        if slug not in {step.slug for step in steps}:
            raise Http404(f"no step {slug} on this tour")
        mark(request.user, slug, "again" not in request.POST)
        return redirect(f"{reverse('tour')}#{_next_of(steps, slug)}")
    seen = seen_by(request.user)
    rows = [
        {"step": step, "url": address_of(step, request.desk.depot), "seen": step.slug in seen}
        for step in steps
    ]
    left = next((row["step"].slug for row in rows if not row["seen"]), "")
    done = sum(row["seen"] for row in rows)
    return render(request, "help/tour.html", {"rows": rows, "done": done, "all": len(rows), "next": left})


def _next_of(steps: list[Step], slug: str) -> str:
    """The step behind this one, or itself where it is the last."""
    at = [step.slug for step in steps].index(slug)
    return steps[min(at + 1, len(steps) - 1)].slug
