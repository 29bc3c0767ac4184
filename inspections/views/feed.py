"""Reminders and calendar: what each person sets up for themselves, and the calendar that their key opens."""

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

from inspections import wishes
from inspections.digest import digest_of
from inspections.feed import feed
from inspections.forms.reminders import AddressForm
from inspections.models import FeedKey, MailWish
from kit.calendar_keys import hash_of
from kit.crew_feed import Register
from kit.models import Depot
from kit.roles import may
from kit.views.desk import at_desk

CALENDAR = "text/calendar; charset=utf-8"


@require_safe
def calendar(request: HttpRequest, key: str) -> HttpResponse:
    """The due dates of one depot, for whoever holds the key: a calendar program cannot sign in.

    A key that is wrong or revoked, or whose person has no role there any more, finds nothing. It is looked up by its
    hash, so how long that takes tells nothing about a key that is nearly right.
    """
    found = (
        FeedKey.objects.filter(key_hash=hash_of(key), user__is_active=True)
        .select_related("user", "depot")
        .first()
    )
    if found is None or not may(found.user, "see", found.depot):
        raise Http404("no calendar of this key")
    register, today = Register.now(), timezone.localdate()
    content = feed(found.depot, today, register, request.build_absolute_uri)
    changed = register.last_changed(today)
    response = HttpResponse(content, content_type=CALENDAR)
    response["Content-Disposition"] = 'inline; filename="due-dates.ics"'
    response["Last-Modified"] = http_date(changed.timestamp())
    response["ETag"] = quote_etag(sha256(content).hexdigest())
    # Kept by nothing between here and the person, and asked for anew each time.
    response["Cache-Control"] = "private, no-cache"
    wishes.note_reading(found, timezone.now())
    return get_conditional_response(request, response["ETag"], int(changed.timestamp()), response)


@never_cache
@at_desk()
def reminders(request: HttpRequest) -> HttpResponse:
    """Mail on or off and the calendar's key, for each of the person's depots; and today's digest."""
    address = AddressForm(initial={"address": request.user.email})
    made = None
    if request.method == "POST":
        asked = request.POST.get("do", "")
        if asked == "address":
            address = AddressForm(request.POST)
            if address.is_valid():
                _set_address(request, address.cleaned_data["address"])
                return redirect("reminders")
        elif asked == "make":
            made = _made(request, _own(request))
        else:
            _do(request, asked, _own(request))
            return redirect("reminders")
    context = {
        "address": address,
        "rows": _rows(request),
        "made": made,
        "sections": digest_of(request.desk.roles, request.desk.depot, request.desk.today),
        "shown": 12,
    }
    return render(request, "feed/page.html", context)


def _rows(request: HttpRequest) -> list[dict[str, Any]]:
    stopped = set(MailWish.objects.filter(user=request.user, wants=False).values_list("depot_id", flat=True))
    keys = {key.depot_id: key for key in FeedKey.objects.filter(user=request.user)}
    return [
        {"depot": depot, "wants": depot.pk not in stopped, "key": keys.get(depot.pk)}
        for depot in request.desk.depots
    ]


def _own(request: HttpRequest) -> Depot:
    """The depot that was named, if the person has a role there."""
    code = request.POST.get("depot", "")
    found = next((depot for depot in request.desk.depots if depot.code == code), None)
    if found is None:
        raise Http404(f"no depot {code} of this person")
    return found


def _set_address(request: HttpRequest, address: str) -> None:
    wishes.set_address(request.user, address)
    if address:
        messages.success(request, _("Reminders go to %(address)s.") % {"address": address})
    else:
        messages.success(request, _("No address is kept: you get no reminders by mail."))


def _made(request: HttpRequest, depot: Depot) -> dict[str, Any]:
    """The address of a new calendar, shown this once in the answer itself: it is kept nowhere."""
    key = wishes.make_key(request.user, depot, timezone.now())
    return {"depot": depot, "url": request.build_absolute_uri(reverse("calendar", args=[key]))}


def _do(request: HttpRequest, asked: str, depot: Depot) -> None:
    if asked == "revoke":
        wishes.revoke_key(request.user, depot)
        messages.success(
            request, _("The calendar of %(depot)s opens no more under its address.") % {"depot": depot}
        )
    elif asked in ("start", "stop"):
        wishes.set_wish(request.user, depot, asked == "start")
        said = (
            _("You get reminders of %(depot)s by mail.")
            if asked == "start"
            else _("You get no more reminders of %(depot)s by mail.")
        )
        messages.success(request, said % {"depot": depot})
    else:
        raise Http404(f"nothing is called {asked}")
