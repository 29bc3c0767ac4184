"""Work ahead: how much falls due week by week, as a picture and as figures that lead to the due list."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.due_load import DueLoad, Load, due_load
from inspections.forms.due_weeks import DueWeeksFilter
from kit.days import date_format
from kit.forms.in_force import filters_in_force
from kit.models import Item
from kit.pictures_of_numbers import Bar, picture_of_bars
from kit.tables.marks import short_day
from kit.views.desk import at_desk


@at_desk()
def due_weeks(request: HttpRequest) -> HttpResponse:
    query = request.GET.copy()
    if "depot" not in query and request.desk.depot:
        query["depot"] = request.desk.depot.code
    form = DueWeeksFilter(query, depots=request.desk.depots)
    data = form.cleaned_data if form.is_valid() else {}
    depot, kind, check = data.get("depot"), data.get("kind"), data.get("check", "")
    items = Item.objects.filter(kind=kind) if kind else None
    own = [depot.pk] if depot else [each.pk for each in request.desk.depots]
    load = due_load(request.desk.today, own, items, check)
    narrowed = {"depot": depot.code if depot else "", "kind": kind.name if kind else "", "check": check}
    return render(
        request,
        "due/weeks.html",
        {
            "form": form,
            "chosen": filters_in_force(form, query),
            "open": bool(set(request.GET) - {"depot"}) or bool(form.errors),
            "load": load,
            "words": in_words(load),
            "picture": _picture(load),
            "weeks": [
                (
                    week,
                    _due_url(narrowed, week=week.week, stands="falls"),
                    _due_url(narrowed, week=week.week, stands="falls", promised="on"),
                )
                for week in load.weeks
            ],
            "waiting_url": _due_url(narrowed),
        },
    )


def _due_url(narrowed: dict[str, str], **more: str) -> str:
    asked = {name: value for name, value in narrowed.items() if value or name == "depot"}
    return reverse("due") + "?" + urlencode({**asked, **more})


def in_words(load: DueLoad) -> str:
    """The picture in sentences."""
    if not load.ahead:
        return _("Nothing falls due from %(first)s to %(last)s.") % _ends(load.weeks)
    said = ngettext(
        "%(n)s check or use-by date falls due from %(first)s to %(last)s.",
        "%(n)s checks and use-by dates fall due from %(first)s to %(last)s.",
        load.ahead,
    ) % {"n": load.ahead, **_ends(load.weeks)}
    most = load.heaviest
    more = _("Most in the week to %(day)s: %(n)s.") % {"day": short_day(most.last), "n": most.number}
    return f"{said} {more}"


def _ends(weeks: list[Load]) -> dict[str, Any]:
    return {"first": short_day(weeks[0].first), "last": short_day(weeks[-1].last)}


def _picture(load: DueLoad) -> str:
    bars = [Bar(date_format(week.first, "j M"), week.number, week.promised) for week in load.weeks]
    return picture_of_bars(
        bars,
        _("What falls due, week by week"),
        in_words(load),
        _("checks and use-by dates"),
        (_("promised to a job"), _("promised to none")),
        "due-load",
    )
