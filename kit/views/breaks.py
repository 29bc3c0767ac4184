"""What breaks, ranked by when it bites, each with the presses that mend it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from kit.forms.plan_board import MoveForm
from kit.models import Item, Job, JobState, Reservation
from kit.planning.breaks import days_left
from kit.stores import Act, NotAllowed, acting, kit_list_of
from kit.stores.breaks import (
    Found,
    breaks_of,
    expect_back,
    let_go_needless,
    move_and_reserve,
    reserve_anew,
    take_proposed,
)
from kit.stores.move import HORIZON_DAYS, soonest_whole
from kit.tables.marks import short_day
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import job_in_sight, must

SCREEN = "list of what breaks"
MOST_SHOWN = 40


@at_desk()
def breaks(request: HttpRequest) -> HttpResponse:
    desk = request.desk
    if request.method == "POST":
        return _press(request)
    found = breaks_of(desk.depot, desk.today)
    return render(
        request,
        "breaks/page.html",
        {
            "rows": [_row(each, desk.today) for each in found[:MOST_SHOWN]],
            "in_all": len(found),
            "left_out": max(0, len(found) - MOST_SHOWN),
            "may_plan": desk.may("plan", desk.depot),
            "may_reserve": desk.may("reserve", desk.depot),
            "may_issue": desk.may("take back", desk.depot),
            "expected_days": [desk.today, desk.today + timedelta(days=1)],
        },
    )


def _row(found: Found, today: date) -> dict[str, Any]:
    n = found.rank.pieces
    title = {
        "on-site": ngettext(
            "%(n)s piece on site is no longer fit", "%(n)s pieces on site are no longer fit", n
        ),
        "broken": ngettext("%(n)s promise no longer holds", "%(n)s promises no longer hold", n),
        "late-back": ngettext("late back with %(n)s piece or lot", "late back with %(n)s pieces and lots", n),
        "short": ngettext("%(n)s piece was never promised", "%(n)s pieces were never promised", n),
    }[found.what] % {"n": n}
    return {"found": found, "job": found.job, "title": title, "when": _when(found, today)}


def _when(found: Found, today: date) -> str:
    left = days_left(found.rank, today)
    if left is None:
        return _("Nobody waits for it yet.")
    if found.what == "on-site":
        return _("Bites now: it is in use.")
    if left == 0:
        return _("Bites today.")
    told = {"n": left, "day": short_day(found.rank.bites_on or today)}
    return ngettext("Bites tomorrow, %(day)s.", "Bites in %(n)s days, on %(day)s.", left) % told


@require_safe
@at_desk()
def soonest(request: HttpRequest, reference: str) -> HttpResponse:
    """The soonest later day on which the job would be whole, with the press that moves it there."""
    job = job_in_sight(request, reference)
    must(request, "plan", job.depot)
    found, whole_now = None, False
    if job.state == JobState.PLANNED:
        whole_now = kit_list_of(job, request.desk.today, mend="nothing").complete
    if job.state == JobState.PLANNED and not whole_now:
        found = soonest_whole(request.desk.who(SCREEN), job, request.desk.today)
    alone = request.headers.get("HX-Request") == "true"
    context = {
        "job": job,
        "found": found,
        "later": (found.load_on - job.load_on).days if found else 0,
        "planned": job.state == JobState.PLANNED,
        "whole_now": whole_now,
        "horizon": HORIZON_DAYS,
        "may_reserve": request.desk.may("reserve", job.depot),
    }
    return render(request, "breaks/soonest.html" if alone else "breaks/soonest_page.html", context)


def _press(request: HttpRequest) -> HttpResponse:
    """One mend: the action decides whether it still may be done."""
    presses: dict[str, Callable[[HttpRequest, Act], str]] = {
        "take": _take,
        "let-go": _let_go,
        "reserve": _reserve,
        "move": _move,
        "expect": _expect,
    }
    do = presses.get(request.POST.get("do", ""))
    if do is None:
        raise BadRequest(
            _("The page sent something that it does not offer. Load it again and press once more.")
        )
    before = broken_now()
    try:
        with acting(request.desk.who(SCREEN)) as act:
            done = do(request, act)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, done)
        say_what_broke(request, before)
    return redirect("today" if request.POST.get("back") == "today" else "breaks")


def _take(request: HttpRequest, act: Act) -> str:
    row = _reservation(request)
    tag = request.POST.get("proposed", "")
    other = get_object_or_404(Item.objects.select_related("kind", "depot"), tag=tag)
    take_proposed(act, row, other)
    return _("%(other)s is reserved in the place of %(tag)s.") % {"other": other, "tag": row.item}


def _let_go(request: HttpRequest, act: Act) -> str:
    row = _reservation(request)
    let_go_needless(act, row)
    return _("%(tag)s is let go for %(job)s.") % {"tag": row.item, "job": row.job}


def _reserve(request: HttpRequest, act: Act) -> str:
    job = _job(request, "reserve")
    kit = reserve_anew(act, job)
    short = sum(line.short for line in kit.lines)
    if short:
        return _("The best choice is reserved for %(job)s; it is still short of %(short)s.") % {
            "job": job,
            "short": short,
        }
    return _("The best choice is reserved for %(job)s; the kit is complete.") % {"job": job}


def _move(request: HttpRequest, act: Act) -> str:
    job = _job(request, "plan")
    must(request, "reserve", job.depot)
    days = _days(request, job)
    move_and_reserve(act, job, days["load_on"], days["return_on"], days["revision"])
    return _("%(job)s loads on %(day)s, and its kit is complete.") % {
        "job": job,
        "day": short_day(days["load_on"]),
    }


def _expect(request: HttpRequest, act: Act) -> str:
    job = _job(request, "plan")
    days = _days(request, job)
    expect_back(act, job, days["return_on"], days["revision"])
    return _("%(job)s is expected back on %(day)s.") % {"job": job, "day": short_day(days["return_on"])}


def _job(request: HttpRequest, action: str) -> Job:
    job = job_in_sight(request, request.POST.get("job", ""))
    must(request, action, job.depot)
    return job


def _days(request: HttpRequest, job: Job) -> dict[str, Any]:
    form = MoveForm(request.POST, job=job)
    if not form.is_valid() or form.cleaned_data["revision"] is None:
        raise BadRequest(_("The page did not say which days. Load it again and press once more."))
    return form.cleaned_data


def _reservation(request: HttpRequest) -> Reservation:
    number = request.POST.get("reservation", "")
    if not number.isdecimal() or not number.isascii():
        raise BadRequest(_("The page did not say which promise. Load it again and press once more."))
    row = get_object_or_404(
        Reservation.objects.select_related("job__depot", "job__arrangement", "line", "item"),
        pk=int(number[:18]),
    )
    job_in_sight(request, row.job.reference)
    must(request, "reserve", row.job.depot)
    return row
