"""Beside the van: the load list as a page that works without signal, and where what was entered there arrives."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.templatetags.static import static
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from kit.models import OPEN, Job, JobState, Reservation, Standing, State, Taken, VanDeed, VanEntry
from kit.papers.wording import size_range
from kit.roles import depots_of
from kit.stores import NotAllowed, Said, acting, clock_is_trusted, settle_van_entry, take_in
from kit.tables.marks import USUAL_WORDS
from kit.views.desk import at_desk
from kit.views.found import job_in_sight, must
from kit.views.van_codes import codes_of

SOURCE = "van page"
AHEAD_DAYS = 14
MOST_AT_ONCE: Final = 100
MOST_SHOWN: Final = 50
STATIC: Final = Path(__file__).resolve().parent.parent / "static"
# The plan's and the bench's own files are of no use beside a van.
_ASSETS: Final = ("kit/css/*.css", "kit/js/*.js", "kit/vendor/*.js", "kit/img/*.svg")


class Unreadable(ValueError):
    """What was sent is not what a phone of ours sends; its text says what is wrong."""


@require_safe
@at_desk("enter at the van")
def vans(request: HttpRequest) -> HttpResponse:
    """The jobs that are out or load soon, each with a page for the van."""
    jobs = (
        Job.objects.filter(depot=request.desk.depot)
        .filter(
            Q(state=JobState.OUT)
            | Q(state=JobState.PLANNED, load_on__lte=request.desk.today + timedelta(days=AHEAD_DAYS))
        )
        .annotate(pieces=Count("reservations", filter=Q(reservations__standing__in=OPEN)))
        .order_by("load_on", "reference")
    )
    return render(request, "van/vans.html", {"jobs": jobs})


@require_safe
@at_desk("enter at the van")
def van(request: HttpRequest, reference: str) -> HttpResponse:
    """One job's kit by place, to tick, test and report; kept by the worker for when there is no signal."""
    job = job_in_sight(request, reference)
    must(request, "enter at the van", job.depot)
    held = list(
        job.reservations.filter(standing__in=OPEN)
        .select_related("item__kind", "item__place", "line")
        .order_by("item__place__walk", "item__place__name", "line__position", "item__tag")
    )
    places: dict[str, list[dict[str, Any]]] = {}
    for one in held:
        item = one.item
        place = str(item.place) if item.place else _("No place recorded: ask the stores")
        places.setdefault(place, []).append(
            {
                "item": item,
                "line": one.line.name,
                "size": size_range(item.bore_min_mm, item.bore_max_mm),
                "out": one.standing == Standing.ISSUED,
                "broken": one.why if one.standing == Standing.BROKEN else "",
                "aside": _aside(one),
                "quantity": one.quantity if one.counted else None,
            }
        )
    return render(
        request,
        "van/van.html",
        {
            "job": job,
            "places": places,
            "codes": codes_of({one.item for one in held}, {depot.pk for depot in request.desk.depots}),
            "entries": [_as_json(entry) for entry in job.van_entries.order_by("arrived_at", "pk")],
            "user_name": request.user.get_username(),
            "words": {
                "what": {value: str(_(label)) for value, label in VanDeed.choices},
                "state": {
                    "waiting": _("not sent yet"),
                    "done": _("arrived"),
                    "open": _("for the stores to settle"),
                    "settled": _("settled"),
                },
            },
        },
    )


def _aside(held: Reservation) -> str:
    """Why the piece must not go along, as a scan of it says; empty if it may."""
    item = held.item
    if item.state != State.AVAILABLE:
        return item.state_why or str(USUAL_WORDS[item.state])
    return held.why if held.standing == Standing.BROKEN else ""


@never_cache
@require_safe
def van_desk(request: HttpRequest) -> JsonResponse:
    """Who is signed in, a fresh token to send with, and the store's time; 401 for nobody."""
    if not request.user.is_authenticated:
        return JsonResponse(
            {"fault": _("Nobody is signed in. Sign in, then what waits here is sent.")}, status=401
        )
    return JsonResponse(
        {
            "user": request.user.get_username(),
            "token": get_token(request),
            "now": timezone.now().isoformat(),
        }
    )


@require_POST
def van_entries(request: HttpRequest) -> JsonResponse:
    """Take in what a phone kept: {"device_now": moment, "entries": [{uid, job, what, code, spare, note, said_at, by}]}.

    Answers what became of each, in their order; each is an act of its own, so that what was taken in stays so when
    the line breaks. 400 with a sentence if the request cannot be read: nothing is written then.
    """
    if not request.user.is_authenticated:
        return JsonResponse(
            {"fault": _("Nobody is signed in. Sign in, then what waits here is sent.")}, status=401
        )
    arrived = timezone.now()
    try:
        device_now, given = _read(request.body)
        ahead = device_now - arrived
        read = [(one, _said(one)) for one in given]
    except Unreadable as fault:
        return JsonResponse({"fault": str(fault)}, status=400)
    own = depots_of(request.user, "enter at the van")
    return JsonResponse(
        {
            "now": arrived.isoformat(),
            "clock_ahead_s": round(ahead.total_seconds()),
            "entries": [_taken_in(request, own, one, said, ahead) for one, said in read],
        }
    )


def _taken_in(
    request: HttpRequest, own: Collection[int], given: dict[str, Any], said: Said, ahead: timedelta
) -> dict[str, Any]:
    if given["by"] != request.user.get_username():
        text = _("%(person)s made this entry: it is sent when they are signed in.") % {"person": given["by"]}
        return {"uid": str(said.uid), "taken": "refused", "why": text}
    job = Job.objects.filter(reference=given["job"], depot__in=own).first()
    if job is None:
        text = _("No job %(job)s of your depots: ask the stores.") % {"job": given["job"]}
        return {"uid": str(said.uid), "taken": "refused", "why": text}
    try:
        with acting(request.desk.who(SOURCE)) as act:  # type: ignore[attr-defined]
            entry = take_in(act, job, said, ahead)
    except NotAllowed as refusal:
        return {"uid": str(said.uid), "taken": "refused", "why": str(refusal)}
    return _as_json(entry)


def _read(body: bytes) -> tuple[datetime, list[dict[str, Any]]]:
    try:
        sent = json.loads(body)
    except ValueError:
        raise Unreadable(_("What was sent is no JSON.")) from None
    entries = sent.get("entries") if isinstance(sent, dict) else None
    if not isinstance(entries, list) or not all(isinstance(one, dict) for one in entries):
        raise Unreadable(_("What was sent holds no list of entries."))
    if len(entries) > MOST_AT_ONCE:
        raise Unreadable(_("At most %(n)s entries are taken at once.") % {"n": MOST_AT_ONCE})
    return _moment(sent.get("device_now"), "device_now"), entries


def _said(given: dict[str, Any]) -> Said:
    try:
        uid = UUID(str(given.get("uid")))
    except ValueError:
        raise Unreadable(_("%(uid)s is no number of an entry.") % {"uid": given.get("uid")}) from None
    if given.get("what") not in VanDeed.values:
        raise Unreadable(
            _("%(what)s is nothing that is entered beside the van.") % {"what": given.get("what")}
        )
    texts = {name: given.get(name, "") for name in ("job", "code", "spare", "note", "by")}
    for name, text in texts.items():
        if not isinstance(text, str) or len(text) > 500 or "\x00" in text:
            raise Unreadable(_("The %(name)s of entry %(uid)s cannot be read.") % {"name": name, "uid": uid})
        given[name] = text
    if not texts["code"].strip():
        raise Unreadable(_("Entry %(uid)s names no piece.") % {"uid": uid})
    return Said(
        uid,
        VanDeed(given["what"]),
        texts["code"].strip(),
        _moment(given.get("said_at"), "said_at"),
        texts["note"],
        texts["spare"].strip(),
    )


def _moment(text: Any, name: str) -> datetime:
    try:
        moment = parse_datetime(text) if isinstance(text, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None or not 1990 <= moment.year <= 2200:
        raise Unreadable(_("%(name)s is no moment with its offset: %(text)s") % {"name": name, "text": text})
    return moment


def _as_json(entry: VanEntry) -> dict[str, Any]:
    return {
        "uid": str(entry.uid),
        "what": entry.what,
        "code": entry.code,
        "spare": entry.spare_code,
        "note": entry.note,
        "by": entry.made_by,
        "said_at": entry.said_at.isoformat(),
        "taken": entry.taken,
        "why": entry.settled_note if entry.taken == Taken.SETTLED else entry.why,
    }


@at_desk()
def van_reports(request: HttpRequest) -> HttpResponse:
    """What arrived from vans of the depot: first what a person has to settle."""
    of_depot = VanEntry.objects.filter(job__depot=request.desk.depot).select_related("job", "item", "spare")
    recent = list(of_depot.exclude(taken=Taken.OPEN)[:MOST_SHOWN])
    return render(
        request,
        "van/reports.html",
        {
            "open": of_depot.filter(taken=Taken.OPEN).order_by("arrived_at", "pk"),
            "recent": [(entry, _clock(entry)) for entry in recent],
        },
    )


@require_POST
@at_desk()
def van_settle(request: HttpRequest, number: int) -> HttpResponse:
    """A person says what was done about an entry that could not be taken in."""
    own = [depot.pk for depot in request.desk.depots]
    entry = get_object_or_404(VanEntry.objects.select_related("job__depot"), pk=number, job__depot__in=own)
    must(request, "settle van entries", entry.job.depot)
    try:
        with acting(request.desk.who("entries from the van")) as act:
            settle_van_entry(act, entry, request.POST.get("note", ""))
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("%(entry)s is settled.") % {"entry": entry})
    return redirect("van_reports")


def _clock(entry: VanEntry) -> str:
    """What is to be said of the phone's clock; empty where it was near the store's."""
    if clock_is_trusted(entry):
        return ""
    minutes = round(abs(entry.clock_ahead_s) / 60)
    how = _("ahead of") if entry.clock_ahead_s > 0 else _("behind")
    if not minutes:
        return _("The phone gave a time that was still to come.")
    return _("The phone's clock was %(hours)s h %(minutes)s min %(how)s the store's.") % {
        "hours": minutes // 60,
        "minutes": minutes % 60,
        "how": how,
    }


@cache
def _worker() -> str:
    """The worker with the files that its pages need, and a name that changes with any of them."""
    files = sorted(path for pattern in _ASSETS for path in STATIC.glob(pattern))
    digest = hashlib.sha256()
    for path in files:
        digest.update(path.read_bytes())
    assets = [static(path.relative_to(STATIC).as_posix()) for path in files]
    code = (STATIC / "kit" / "workers" / "van_worker.js").read_text(encoding="utf-8")
    head = f"const VERSION = {json.dumps(digest.hexdigest()[:16])};\nconst ASSETS = {json.dumps(assets)};\n"
    return head + code


@require_safe
def van_worker(request: HttpRequest) -> HttpResponse:
    """The service worker of the pages under /van/."""
    response = HttpResponse(_worker(), content_type="text/javascript")
    response["Cache-Control"] = "no-cache"
    return response
