"""The plan board, and moving a job on it: what gives is shown before anybody confirms."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header, url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kit.forms.plan_board import BoardForm, MoveForm
from kit.models import Depot, Job, JobState
from kit.papers.plan_board import plan_board_pdf
from kit.papers.store_plan import plan_board_of
from kit.stores import NotAllowed, acting, reserve
from kit.stores.foresee import Foreseen, foresee_move
from kit.stores.move import move_seen
from kit.stores.plan_board import Board, board_of, crews_of, monday_of
from kit.views import plan_cells
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import job_in_sight, must

SCREEN = "plan board"
PDF = "application/pdf"
ENDED = (JobState.CLOSED, JobState.CANCELLED)


@require_safe
@at_desk()
def plan_board(request: HttpRequest) -> HttpResponse:
    """The jobs of the depot over some weeks: as bars over days, as a list of days, and as a table."""
    desk = request.desk
    form, asked = _asked(request, desk.depot)
    board = board_of(desk.depot, asked["first"], asked["weeks"], desk.today, asked["crew"])
    rows = plan_cells.rows_of(board)
    return render(
        request,
        "plan/page.html",
        {
            "form": form,
            "board": board,
            "columns": plan_cells.columns(board),
            "rows": rows,
            "groups": plan_cells.groups_of(rows, asked["by"]),
            "by_crew": asked["by"] == "crew",
            "scarce": board.scarce,
            "scarcest": plan_cells.scarcest_rows(board),
            "scarce_further": max(0, len(board.scarce) - plan_cells.MOST_SCARCE),
            "entries": plan_cells.day_entries(board, rows),
            "may_move": desk.may("plan", desk.depot),
            **_steps(request, board, asked),
        },
    )


def _asked(request: HttpRequest, depot: Depot) -> tuple[BoardForm, dict[str, Any]]:
    usual = monday_of(request.desk.today)
    data = request.GET.copy() if request.GET else None
    if data is not None:
        for name, value in (("first", usual.isoformat()), ("weeks", "4"), ("by", "job")):
            data.setdefault(name, value)
    initial = {"first": usual, "weeks": 4, "by": "job"}
    form = BoardForm(data, crews=crews_of(depot), initial=initial)
    return form, form.asked(usual)


def _steps(request: HttpRequest, board: Board, asked: dict[str, Any]) -> dict[str, str]:
    """The addresses of the weeks before and after, and of this very page."""

    def at(days: int) -> str:
        query = request.GET.copy()
        query["first"] = (board.first + timedelta(days=days)).isoformat()
        return query.urlencode()

    weeks = 7 * asked["weeks"]
    return {"earlier": at(-weeks), "later": at(weeks), "query": request.GET.urlencode()}


@require_safe
@at_desk()
def plan_board_paper(request: HttpRequest) -> HttpResponse:
    """The same weeks as a PDF: one A4 sheet a week."""
    desk = request.desk
    _form, asked = _asked(request, desk.depot)
    try:
        paper = plan_board_of(desk.depot, asked["first"], asked["weeks"], desk.today, asked["crew"])
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
        return redirect("plan_board")
    response = HttpResponse(plan_board_pdf(paper), content_type=PDF)
    name = f"plan-{desk.depot.code}-{asked['first'].isoformat()}.pdf"
    response["Content-Disposition"] = content_disposition_header(False, name) or ""
    return response


@at_desk()
def move_job(request: HttpRequest, reference: str) -> HttpResponse:
    """What moving a job to other days would bring; a press moves it."""
    job = job_in_sight(request, reference)
    must(request, "plan", job.depot)
    if request.method == "POST":
        return _press(request, job)
    asked = bool({"load_on", "return_on"} & set(request.GET))
    form = MoveForm(request.GET if asked else None, job=job)
    foreseen, refused = None, ""
    if asked and form.is_valid():
        foreseen, refused = _foreseen(request, job, form.cleaned_data)
    elif asked:
        refused = " ".join(str(fault) for faults in form.errors.values() for fault in faults)
    alone = request.headers.get("HX-Request") == "true"
    context = {
        "job": job,
        "form": form,
        "foreseen": foreseen,
        "refused": refused,
        "next": _next(request, request.GET.get("next", "")),
        "alone": alone,
        "ended": job.state in ENDED,
    }
    return render(request, "plan/gives.html" if alone else "plan/move.html", context)


def _foreseen(request: HttpRequest, job: Job, days: dict[str, Any]) -> tuple[Foreseen | None, str]:
    try:
        found = foresee_move(request.desk.who(SCREEN), job, days["load_on"], days["return_on"])
    except NotAllowed as refusal:
        return None, str(refusal)
    return found, ""


def _press(request: HttpRequest, job: Job) -> HttpResponse:
    """Move the job to days that were looked at before, and reserve the best choice with it if that is asked for."""
    form = MoveForm(request.POST, job=job)
    do = request.POST.get("do")
    if do not in ("move", "move-and-reserve") or not request.POST.get("revision", ""):
        raise BadRequest(
            _("The page sent something that it does not offer. Load it again and press once more.")
        )
    if not form.is_valid():
        return render(request, "plan/move.html", {"job": job, "form": form, "next": _next(request, "")})
    days = form.cleaned_data
    if do == "move-and-reserve":
        must(request, "reserve", job.depot)
    before = broken_now()
    try:
        with acting(request.desk.who(SCREEN)) as act:
            moved = move_seen(act, job, gives=days.pop("gives"), **days)
            kit = reserve(act, job) if do == "move-and-reserve" else None
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        if moved:
            messages.success(request, _("%(job)s is moved.") % {"job": job})
        else:
            messages.info(request, _("Nothing differs from what was recorded."))
        if kit is not None:
            short = sum(line.short for line in kit.lines)
            done = (
                _("The best choice is reserved; the kit is complete.")
                if kit.complete
                else _("The best choice is reserved; it is still short of %(n)s.") % {"n": short}
            )
            messages.success(request, done)
        say_what_broke(request, before)
    return redirect(_next(request, request.POST.get("next", "")) or "plan_board")


def _next(request: HttpRequest, address: str) -> str:
    """The page to go back to, if it is one of ours."""
    ours = url_has_allowed_host_and_scheme(address, {request.get_host()}, require_https=request.is_secure())
    return address if ours else ""
