"""Readiness: how many stops could be mounted each day, what limits them, and what would give more."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.days import date_format
from kit.forms.readiness import ReadinessForm, usual
from kit.models import Depot
from kit.pictures import in_words, picture_of_stops
from kit.planning.readiness import Day
from kit.planning.readiness_gain import Gain, one_more
from kit.sentences import said
from kit.stores.readiness import Question
from kit.stores.readiness_gains import inspections_in_time
from kit.views.desk import at_desk
from kit.views.found import must
from kit.workbooks.readiness import readiness_workbook

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_MORE, MOST_TAGS = 8, 6


@dataclass(frozen=True)
class Run:
    """Days in a row on which the same stops are limited by the same kinds."""

    first: date
    last: date
    stops: int
    limited_by: tuple[str, ...]
    days: int
    at_most: int


def _form(request: HttpRequest) -> ReadinessForm:
    """The question in the address; where it asks nothing yet, the usual one."""
    query = request.GET.copy()
    if not query:
        query = QueryDict(mutable=True)
        query.update(usual(request.desk.depot))
    return ReadinessForm(query, depots=request.desk.depots)


def _asked(request: HttpRequest, form: ReadinessForm) -> Question:
    asked = form.cleaned_data
    depots: list[Depot] = [asked["depot"]] if asked["depot"] else request.desk.depots
    return Question(asked["arrangement"], form.main(), asked["first"], asked["days"], depots)


@at_desk()
def readiness(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    shown: dict[str, Any] = {"form": form, "asked_nothing": not request.GET}
    if form.is_valid():
        question = _asked(request, form)
        known = question.known()
        days = known.answer()
        shown |= {
            "picture": picture_of_stops(days),
            "words": list(in_words(days)),
            "runs": list(_runs(days)),
            "main": form.main(),
            "unsized": ", ".join(question.unsized),
            "sets_add": any(day.sets_add for day in days),
            "past": form.past,
            _("arrangement"): form.cleaned_data["arrangement"],
            "more": [_more(gain) for gain in one_more(known, days)[:MOST_MORE]],
            "in_time": [
                {**_more(each.gain), "tags": each.tags[:MOST_TAGS], "tags_more": len(each.tags) - MOST_TAGS}
                for each in inspections_in_time(question, known, days)
            ],
            "workbook_url": f"{reverse('readiness_workbook')}?{form.data.urlencode()}",
        }
    elif not request.GET:
        # Nothing was asked yet, so nothing is wrong yet.
        shown["form"] = ReadinessForm(None, depots=request.desk.depots, initial=usual(request.desk.depot))
    return render(request, "readiness/page.html", shown)


@at_desk("export")
def readiness_as_workbook(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    if not form.is_valid():
        return redirect(f"{reverse('readiness')}?{request.GET.urlencode()}")
    question = _asked(request, form)
    asked = form.cleaned_data
    depots = [asked["depot"]] if asked["depot"] else request.desk.depots
    for depot in depots:
        must(request, "export", depot)
    days = question.known().answer()
    facts = {
        _("arrangement"): str(asked["arrangement"]),
        _("bore in mm"): form.main().bore_mm,
        _("depots"): ", ".join(depot.code for depot in depots),
        _("from"): asked["first"],
        _("as of"): timezone.localdate(),
        _("drawn up by"): request.user.get_username(),
        _("drawn up at"): timezone.localtime(),
        _("note"): _(
            "What meets its recorded requirements and is promised to nobody. "
            "The network operator's procedure decides."
        ),
    }
    response = HttpResponse(readiness_workbook(days, facts), content_type=XLSX)
    response["Content-Disposition"] = f'attachment; filename="readiness_{asked["first"].isoformat()}.xlsx"'
    response["Cache-Control"] = "no-store"
    return response


def _runs(days: Sequence[Day]) -> list[Run]:
    runs = []
    for (stops, limited_by, at_most), run in groupby(
        days, key=lambda day: (day.stops, day.limited_by, day.at_most)
    ):
        listed = list(run)
        runs.append(Run(listed[0].day, listed[-1].day, stops, limited_by, len(listed), at_most))
    return runs


def _more(gain: Gain) -> dict[str, Any]:
    """A gain in words: which pieces, and what they give."""
    pieces = _("%(n)s × %(kind)s") % {"n": gain.pieces, "kind": said(gain.kind)}
    if gain.mark:
        pieces = _("%(pieces)s marked %(mark)s") % {"pieces": pieces, "mark": gain.mark.upper()}
    days = ngettext("%(n)s day", "%(n)s days", gain.days) % {"n": gain.days}
    if gain.stops == gain.days:
        gives = _("one stop more on %(days)s, first on %(day)s") % {
            "days": days,
            "day": date_format(gain.first, "j M"),
        }
    else:
        gives = _("up to several stops more on %(days)s, %(n)s in all, first on %(day)s") % {
            "days": days,
            "n": gain.stops,
            "day": date_format(gain.first, "j M"),
        }
    return {"depot": gain.depot, "pieces": pieces, "gives": gives, "due_on": gain.due_on}
