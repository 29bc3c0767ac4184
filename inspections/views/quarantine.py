"""Quarantine: cases by age and decision, their spreadsheet, and the release by somebody else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from inspections.actions import barred_from_release, release
from inspections.actions.cases import open_case, open_missing
from inspections.actions.release import retests_due, waits_for
from inspections.case_list import BANDS, DECISIONS, OPEN, Ages, ages_of, by_band, cases_at
from inspections.case_workbook import case_workbook
from inspections.forms.findings import ReleaseForm
from inspections.tables.quarantine import QuarantineTable
from inspections.views.panels import checks_of
from kit.models import Depot, Item, LedgerEntry, State
from kit.pictures_of_numbers import Bar, picture_of_bars
from kit.stores import NotAllowed, acting
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must
from kit.views.listing import Listed, Listing, arranged, on_a_page, opens_with, tools
from kit.views.story import told

A_PAGE = 25
LAST_ENTRIES = 6
MOST_OF_A_WEEK = 12
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True)
class Asked:
    """What the address asks for; what it names that does not exist counts as not named."""

    everywhere: bool
    depots: list[Depot]
    decision: str
    band: str
    # Columns and order, which go along from list to list.
    carried: str = ""

    def url(self, **other: str) -> str:
        """The address of the list asked for with other words."""
        words = {"depot": "all" if self.everywhere else "", "decision": self.decision, "age": self.band}
        said = {**words, **other}
        if said["decision"] == OPEN:
            said["decision"] = ""
        else:
            said["age"] = ""
        # Never an empty question: that would mean the person's usual view.
        words = [f"{name}={value}" for name, value in said.items() if value] or ["depot="]
        return "?" + "&".join([*words, self.carried] if self.carried else words)


def _asked(request: HttpRequest, query: QueryDict) -> Asked:
    everywhere = query.get("depot") == "all"
    decision, band = query.get("decision", OPEN), query.get("age", "")
    decision = decision if decision in dict(DECISIONS) else OPEN
    band = band if decision == OPEN and band in {one.key for one in BANDS} else ""
    depots = request.desk.depots if everywhere else [request.desk.depot]
    kept = QueryDict(mutable=True)
    for name in ("columns", "sort"):
        if name in query:
            kept.setlist(name, query.getlist(name))
    return Asked(everywhere, depots, decision, band, kept.urlencode())


def _in_words(asked: Asked) -> str:
    bands = {band.key: str(band.words) for band in BANDS}
    return bands.get(asked.band) or str(dict(DECISIONS)[asked.decision]).lower()


def _listed(request: HttpRequest, query: QueryDict) -> Listed:
    asked, today = _asked(request, query), request.desk.today
    table = arranged(
        QuarantineTable,
        cases_at([depot.pk for depot in asked.depots], asked.decision, asked.band, today),
        query,
        today=today,
        may_release={depot.pk for depot in asked.depots if request.desk.may("release", depot)},
        me=request.user.get_username(),
    )
    return Listed(table, asked.depots, _in_words(asked), {"asked": asked})


LISTING = Listing("quarantine", "quarantine", gettext_lazy("Quarantine"), _listed)


@at_desk()
def quarantine(request: HttpRequest) -> HttpResponse:
    """Cases at the depot where one sits, or with ?depot=all at all of one's depots."""
    if usual := opens_with(request, LISTING):
        return usual
    listed = _listed(request, request.GET)
    asked, table, today = listed.page["asked"], listed.table, request.desk.today
    if request.method == "POST":
        return _open_their_cases(request, asked)
    ids = [depot.pk for depot in asked.depots]
    on_a_page(request, table, A_PAGE)
    open_cases = list(cases_at(ids)) if asked.decision == OPEN else []
    counts = by_band(open_cases, today) if asked.decision == OPEN else []
    ages = ages_of(open_cases, today)
    return render(
        request,
        "quarantine/page.html",
        {
            "table": table,
            "tools": tools(request, LISTING, listed, request.GET),
            "number": len(table.rows),
            "workbook_url": reverse("case_workbook") + asked.url(),
            "ages": ages,
            "ages_picture": _picture_of_ages(ages) if ages else "",
            "ages_rows": _rows_of_ages(ages) if ages else [],
            "missing": _without_case(ids).count() if request.desk.may("release") else 0,
            "several": len(request.desk.depots) > 1,
            "depot_parts": [
                (request.desk.depot, asked.url(depot=""), not asked.everywhere),
                (_("All your depots"), asked.url(depot="all"), asked.everywhere),
            ],
            "decision_parts": [
                (words, asked.url(decision=key, age=""), key == asked.decision) for key, words in DECISIONS
            ],
            "bands": [
                (
                    band,
                    figure,
                    asked.url(age="" if band.key == asked.band else band.key),
                    band.key == asked.band,
                )
                for band, figure in counts
            ],
        },
    )


def _rows_of_ages(ages: Ages) -> list[dict[str, Any]]:
    """The weeks of the picture that hold a case, each with its cases."""
    last = len(ages.weeks) - 1
    return [
        {
            "label": _weeks_in_words(week, week == last),
            "number": number,
            "cases": ages.cases[week][:MOST_OF_A_WEEK],
            "left_out": max(0, number - MOST_OF_A_WEEK),
        }
        for week, number in enumerate(ages.weeks)
        if number
    ]


def _weeks_in_words(week: int, or_more: bool) -> str:
    if or_more:
        return _("%(n)s weeks or more") % {"n": week}
    if week == 0:
        return _("under a week")
    return ngettext("%(n)s week", "%(n)s weeks", week) % {"n": week}


def _picture_of_ages(ages: Ages) -> SafeString:
    """Open cases by weeks of age, the youngest first."""
    last = len(ages.weeks) - 1
    labels = [str(week) if week < last else f"{week}+" for week in range(len(ages.weeks))]
    words = _("The oldest is open for %(oldest)s days; half of them for %(middle)s days or longer.") % {
        "oldest": ages.oldest,
        "middle": ages.middle,
    }
    bars = [Bar(label, number) for label, number in zip(labels, ages.weeks, strict=True)]
    title = _("Open cases by age in whole weeks")
    return picture_of_bars(bars, title, words, _("open cases, by age in whole weeks"), name="case-ages")


def _without_case(depots: list[int]) -> Any:
    return Item.objects.filter(state=State.QUARANTINED, depot__in=depots).exclude(cases__decision="")


def _open_their_cases(request: HttpRequest, asked: Asked) -> HttpResponse:
    must(request, "release", request.desk.depot)
    with acting(request.desk.who("quarantine screen")) as act:
        number = open_missing(act)
    said = ngettext("%(n)s case is opened.", "%(n)s cases are opened.", number) % {"n": number}
    messages.success(request, said)
    return redirect(reverse("quarantine") + asked.url())


@require_safe
@at_desk()
def workbook(request: HttpRequest) -> HttpResponse:
    """The spreadsheet of the cases as narrowed in the address."""
    asked = _asked(request, request.GET)
    for depot in asked.depots:
        must(request, "export", depot)
    today = request.desk.today
    cases = list(cases_at([depot.pk for depot in asked.depots], asked.decision, asked.band, today))
    query = {
        _("depot"): ", ".join(depot.code for depot in asked.depots),
        _("asked for"): _in_words(asked),
    }
    content = case_workbook(cases, today, query, request.user.get_username())
    response = HttpResponse(content, content_type=XLSX)
    name = f"quarantine_cases_{today.isoformat()}.xlsx"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "no-store"
    return response


@at_desk()
def release_item(request: HttpRequest, tag: str) -> HttpResponse:
    """Release with findings. Nobody releases what they set aside or failed: the action refuses, and says so."""
    item = item_in_sight(request, tag)
    must(request, "release", item.depot)
    sent = request.POST if request.method == "POST" else None
    form = ReleaseForm(sent)
    if sent is not None and form.is_valid():
        try:
            with acting(request.desk.who("quarantine screen")) as act:
                release(act, item, form.cleaned_data["findings"])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            said = _("%(tag)s is released. Its checks decide whether it may go out.") % {"tag": item.tag}
            messages.success(request, said)
            return redirect("item", item.tag)
    me = request.user.get_username()
    subject = f"item:{item.tag}"
    entries = LedgerEntry.objects.filter(mentions__about=subject).order_by("-number")
    case = open_case(item)
    return render(
        request,
        "quarantine/release.html",
        {
            "item": item,
            "form": form,
            "case": case,
            "in_quarantine": item.state == State.QUARANTINED,
            "own": me in barred_from_release(item),
            "waits": waits_for(case) if case else [],
            "retests": retests_due(case) if case else [],
            "checks": checks_of(item, request.desk.today),
            "entries": told(entries.prefetch_related("corrections")[:LAST_ENTRIES], subject),
        },
    )
