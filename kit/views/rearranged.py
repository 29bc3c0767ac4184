"""The rearranged plan: what would be promised to whom if all were chosen anew. One press applies what was looked at."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from kit.long_work import Note, Progress, note_for, note_of, see_to
from kit.models import Depot
from kit.stores import NotAllowed, acting
from kit.stores.rearrange import Moves, apply_plan, propose_plan
from kit.stores.season import movable_jobs, season_of
from kit.views.desk import at_desk
from kit.views.found import must
from kit.views.rearranged_told import as_plain

QUICK_JOBS = 12
ALL = "all"
_KEY = re.compile(r"[0-9a-f]{64}")


def _depots(request: HttpRequest) -> list[Depot]:
    """The depot where the person sits, or all at which they plan."""
    desk = request.desk
    if request.GET.get("depots") == ALL:
        return [depot for depot in desk.depots if desk.may("plan", depot)]
    return [desk.depot]


def _note(request: HttpRequest, depots: list[Depot]) -> Note:
    return note_for(request.user.pk, "rearranged", request.desk.today, sorted(depot.pk for depot in depots))


@require_safe
@at_desk("plan")
def rearranged(request: HttpRequest) -> HttpResponse:
    """Propose a plan. Looking at it changes nothing."""
    depots = _depots(request)
    ids, today = [depot.pk for depot in depots], request.desk.today
    note = _note(request, depots)

    def work(progress: Progress) -> dict[str, Any]:
        progress(0, 2, _("choosing"))
        proposed = propose_plan(ids, today)
        progress(1, 2, _("looking for what would mend what is short"))
        return as_plain(proposed, season_of(ids, today))

    noted = see_to(note, work, aside=len(movable_jobs(ids, today)) > QUICK_JOBS)
    page = {
        "noted": noted,
        "key": note.key,
        "depots": depots,
        "wide": request.GET.get("depots") == ALL,
        "more_depots": sum(request.desk.may("plan", depot) for depot in request.desk.depots) > 1,
        "progress_url": f"{reverse('rearranged_progress')}?{request.GET.urlencode()}",
    }
    if noted["state"] == "done":
        page |= _shown(noted["answer"])
    return render(request, "rearranged/page.html", page)


@require_safe
@at_desk("plan")
def rearranged_progress(request: HttpRequest) -> JsonResponse:
    noted = _note(request, _depots(request)).read()
    running = noted["state"] == "running"
    return JsonResponse(
        {
            "state": "running" if running else "done" if noted["state"] == "done" else "failed",
            "done": noted.get("done", 0),
            "total": noted.get("total"),
            "text": noted.get("text", ""),
            "next": None if running else f"{reverse('rearranged')}?{request.GET.urlencode()}",
        }
    )


@require_POST
@at_desk("plan")
def apply_rearranged(request: HttpRequest) -> HttpResponse:
    """Promise what the plan that was shown gives, all of it or nothing."""
    key = request.POST.get("key", "")
    back = redirect(f"{reverse('rearranged')}?{request.GET.urlencode()}")
    note = note_of(request.user.pk, key) if _KEY.fullmatch(key) else None
    noted = note.read() if note else {"state": "new"}
    if note is None or noted["state"] != "done":
        messages.error(request, _("The plan that was shown is not kept any more: look at this one."))
        return back
    moves = Moves.from_plain(noted["answer"]["moves"])
    for depot in Depot.objects.filter(pk__in=moves.depots or ()):
        must(request, "plan", depot)
        must(request, "reserve", depot)
    try:
        with acting(request.desk.who("rearranged plan")) as act:
            number = apply_plan(act, moves)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
        return back
    note.forget()
    messages.success(
        request,
        ngettext(
            "The plan is applied: %(n)s job has other promises.",
            "The plan is applied: %(n)s jobs have other promises.",
            number,
        )
        % {"n": number},
    )
    return back


def _shown(answer: dict[str, Any]) -> dict[str, Any]:
    """The answer with its days as dates."""

    def day(text: str | None) -> date | None:
        return date.fromisoformat(text) if text else None

    jobs = [
        {
            **job,
            "load_on": day(job["load_on"]),
            "return_on": day(job["return_on"]),
            "leaves": [{**each, "day": day(each["day"])} for each in job["leaves"]],
            "comes": [{**each, "day": day(each["day"])} for each in job["comes"]],
            "short": [{**each, "soonest": day(each["soonest"])} for each in job["short"]],
        }
        for job in answer["jobs"]
    ]
    return {
        "now": answer["now"],
        "then": answer["then"],
        "looked_at": answer["looked_at"],
        "proven": answer["proven"],
        "gap_percent": round(answer["gap"] * 100, 2),
        "moving": [job for job in jobs if job["leaves"] or job["comes"]],
        "short": [job for job in jobs if job["short"]],
        "works": [
            {**work, "on": day(work["on"]), "arrives_on": day(work["arrives_on"])} for work in answer["works"]
        ],
        "to_apply": bool(answer["moves"]["moves"]),
    }
