"""The first page: what the day holds for the roles that the person has at this depot."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.models import Deed, Depot, Item, JobState, LedgerEntry, Role
from kit.ports import ports
from kit.roles import MAY
from kit.views.day_lists import broken_promises, consignments, loads, returns, set_aside, vans
from kit.views.desk import at_desk
from kit.views.now import MOST_STEPS, steps
from kit.views.story import told

PLANNED_AHEAD_DAYS = 14
CREW_AHEAD_DAYS = 7
MOST_SHOWN = 12
RECENT_ENTRIES = 8

LOADERS = frozenset({Role.STORES, Role.CREW})
PLANNERS = frozenset({Role.STORES, Role.PLANNER, Role.CREW})
LISTS = ("vans", "broken", "short", "set_aside", "recent")
KEEPERS = frozenset({Role.STORES, Role.EXAMINER, Role.COMPLIANCE})


@at_desk()
def today(request: HttpRequest) -> HttpResponse:
    desk = request.desk
    context = {"shown": MOST_SHOWN, **_parts(desk.depot, desk.roles, desk.today)}
    now = steps(request, context)
    context |= {"steps": now[:MOST_STEPS], "steps_in_all": len(now), "learn": _learn(desk.roles)}
    given = (panel(request) for panel in ports.today_panels)
    context["panels"] = [render_to_string(panel.template, panel.context, request) for panel in given if panel]
    context["register_empty"] = not Item.objects.filter(depot=desk.depot).exists()
    # A role that looks after none of the lists has only what is asked of it.
    waits = now or any(key in context for key in LISTS) or any(context["panels"])
    context["nothing_waits"] = not waits
    return render(request, "today/page.html", context)


def _parts(depot: Depot, roles: frozenset[str], day: Any) -> dict[str, Any]:
    """The lists that the roles at this depot look after."""
    parts: dict[str, Any] = {}
    if roles & LOADERS:
        ahead = vans(depot, day, 1 if Role.STORES in roles else CREW_AHEAD_DAYS)
        parts["vans"] = ahead
        parts["vans_today"] = [
            van for van in ahead if van.job.load_on <= day and van.job.state == JobState.PLANNED
        ]
        parts["vans_tomorrow"] = [van for van in ahead if van.job.load_on == day + timedelta(days=1)]
        parts["returns"] = list(returns(depot, day))
        parts["returns_today"] = [job for job in parts["returns"] if job.return_on == day]
        parts["returns_overdue"] = [job for job in parts["returns"] if job.return_on < day]
    if roles & PLANNERS:
        parts["broken"] = list(broken_promises(depot))
    if Role.PLANNER in roles:
        jobs = depot.jobs.loading_between(day, day + timedelta(days=PLANNED_AHEAD_DAYS)).filter(
            state=JobState.PLANNED
        )
        parts["short"] = [van for van in loads(jobs.order_by("load_on", "reference"), day) if van.missing > 0]
        parts["planned_ahead"] = PLANNED_AHEAD_DAYS
    if roles & KEEPERS:
        parts["set_aside"] = list(set_aside(depot))
    if Role.STORES in roles:
        parts["consignments"] = consignments(depot, day)
    if roles & MAY["prove"]:
        recent = LedgerEntry.objects.order_by("-number").prefetch_related("corrections")[:RECENT_ENTRIES]
        parts["recent"] = told(recent)
        yesterday = day - timedelta(days=1)
        parts["since"], parts["changed"] = yesterday, _changed(yesterday)
    return parts


def _changed(since: date) -> list[tuple[str, int, str]]:
    """(what was done, how often since that day, the ledger narrowed to it), what was done most first."""
    rows = LedgerEntry.objects.filter(recorded_at__date__gte=since).order_by().values("deed")
    words = dict(Deed.choices)
    return [
        (
            _(words.get(row["deed"], row["deed"])),
            row["n"],
            f"{reverse('ledger')}?{urlencode({'deed': row['deed'], 'since': since.isoformat()})}",
        )
        for row in rows.annotate(n=Count("pk")).order_by("-n", "deed")
    ]


LEARN: tuple[tuple[str, Any, str, Any], ...] = (
    (
        Role.STORES,
        gettext_lazy("Vans to load, kit to take back and consignments to sign for stand here on their day."),
        "plan_board",
        gettext_lazy("What loads in the next days"),
    ),
    (
        Role.CREW,
        gettext_lazy(
            "A job stands here a week before it loads, with its load list; while it is out, its report."
        ),
        "jobs",
        gettext_lazy("All jobs"),
    ),
    (
        Role.PLANNER,
        gettext_lazy("A promise that breaks stands here at once, and a job that is short two weeks ahead."),
        "plan_job",
        gettext_lazy("Plan a job"),
    ),
    (
        Role.EXAMINER,
        gettext_lazy("What is due at the bench stands here two weeks ahead, what is promised soonest first."),
        "due",
        gettext_lazy("Due list"),
    ),
    (
        Role.COMPLIANCE,
        gettext_lazy("What is overdue though promised, concessions to decide and open cases stand here."),
        "ledger",
        gettext_lazy("The whole ledger"),
    ),
    (
        Role.DUTY,
        gettext_lazy("A concession that somebody asks for stands here until it is decided."),
        "concessions",
        gettext_lazy("All concessions"),
    ),
)


def _learn(roles: frozenset[str]) -> tuple[Any, str, Any] | None:
    """What will stand on an empty page, and where to look meanwhile: of the first of the roles."""
    return next(((text, reverse(url), words) for role, text, url, words in LEARN if role in roles), None)
