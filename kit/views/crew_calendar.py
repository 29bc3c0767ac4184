"""Crew calendars: addresses that a diary subscribes to, made and revoked by each person, and what they open."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import http_date, quote_etag
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from kit import calendar_keys
from kit.crew_feed import Register, crew_feed
from kit.models import CrewCalendarKey, Depot
from kit.roles import may
from kit.stores.plan_board import crews_of
from kit.views.desk import at_desk

CALENDAR = "text/calendar; charset=utf-8"


@require_safe
def crew_calendar(request: HttpRequest, key: str) -> HttpResponse:
    """The jobs of one crew, for whoever holds the key: a calendar program cannot sign in.

    A key that is wrong or revoked, or whose person has no role at the depot any more, finds nothing.
    """
    found = calendar_keys.key_of(key)
    if found is None or not may(found.user, "see", found.depot):
        raise Http404("no calendar of this key")
    register, today = Register.now(), timezone.localdate()
    content = crew_feed(found.depot, found.crew, today, register, request.build_absolute_uri)
    changed = register.last_changed(today).timestamp()
    response = HttpResponse(content, content_type=CALENDAR)
    response["Content-Disposition"] = 'inline; filename="jobs.ics"'
    response["Last-Modified"] = http_date(changed)
    response["ETag"] = quote_etag(sha256(content).hexdigest())
    # Kept by nothing between here and the person, and asked for anew each time.
    response["Cache-Control"] = "private, no-cache"
    calendar_keys.note_reading(found, timezone.now())
    return get_conditional_response(request, response["ETag"], int(changed), response)


@never_cache
@at_desk()
def crew_calendars(request: HttpRequest) -> HttpResponse:
    """An address for each crew of the depot, and one for all its jobs: made, made anew, revoked."""
    depot: Depot = request.desk.depot
    made = None
    if request.method == "POST":
        crew = _crew(request, depot)
        do = request.POST.get("do", "")
        if do == "make":
            key = calendar_keys.make_key(request.user, depot, crew, timezone.now())
            # Shown this once in the answer itself: it is kept nowhere.
            made = {"name": crew, "url": request.build_absolute_uri(reverse("crew_calendar", args=[key]))}
        elif do == "revoke":
            calendar_keys.revoke_key(request.user, depot, crew)
            messages.success(request, _("That calendar opens no more under its address."))
            return redirect("crew_calendars")
        else:
            raise Http404(f"nothing is called {do}")
    return render(request, "crews/calendars.html", {"rows": _rows(request, depot), "made": made})


def _rows(request: HttpRequest, depot: Depot) -> list[dict[str, Any]]:
    """All jobs first, then the crews that jobs name, then crews of which only a key is left."""
    keys = {key.crew: key for key in CrewCalendarKey.objects.filter(user=request.user, depot=depot)}
    crews = crews_of(depot)
    names = ["", *crews, *sorted(set(keys) - {"", *crews})]
    return [{"crew": crew, "key": keys.get(crew)} for crew in names]


def _crew(request: HttpRequest, depot: Depot) -> str:
    """The crew that was named, if the page offers it."""
    crew = request.POST.get("crew", "")
    if all(crew != row["crew"] for row in _rows(request, depot)):
        raise Http404(f"no crew {crew} of this depot")
    return crew
