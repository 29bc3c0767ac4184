"""Concessions: what is asked for, runs and is past; asking for one, deciding it, ending it early."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspections.actions.concessions import ask, end, grant, refuse, who_failed
from inspections.concession_list import (
    ASKED,
    PARTS,
    PAST,
    RUNNING,
    ListedConcession,
    counts,
    listed_concessions,
)
from inspections.concession_workbook import concession_workbook
from inspections.forms.concessions import AskForm, EndForm, GrantForm, RefuseForm
from inspections.models import Concession
from inspections.tables.concessions import ConcessionTable, stands_mark
from kit.models import Item, Role
from kit.ports import Panel
from kit.stores import NotAllowed, acting
from kit.tables.marks import mark_of, short_day
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must

A_PAGE = 25
MOST_IN_A_PANEL = 8
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@at_desk()
def concessions(request: HttpRequest) -> HttpResponse:
    """Those at the depot where one sits, or with ?depot=all at all of one's depots, in three parts."""
    everywhere = request.GET.get("depot") == "all"
    rows = listed_concessions(request.desk.today, _depots(request, everywhere))
    asked_part = request.GET.get("part", "")
    part = asked_part if asked_part in PARTS else ASKED
    table = ConcessionTable([row for row in rows if row.part == part], today=request.desk.today)
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    labels = {ASKED: _("asked for"), RUNNING: _("running"), PAST: _("past")}
    where = "&depot=all" if everywhere else ""
    return render(
        request,
        "concessions/page.html",
        {
            "table": table,
            "parts": [
                (sum(row.part == one for row in rows), labels[one], f"?part={one}{where}", one == part)
                for one in PARTS
            ],
            "part": part,
            "counts": counts(rows)[len(PARTS) :],
            "everywhere": everywhere,
            "several": len(request.desk.depots) > 1,
            "number": len(rows),
        },
    )


def _depots(request: HttpRequest, everywhere: bool) -> list[int]:
    return [depot.pk for depot in (request.desk.depots if everywhere else [request.desk.depot])]


@at_desk("export")
def workbook(request: HttpRequest) -> HttpResponse:
    """All of them as a spreadsheet."""
    everywhere = request.GET.get("depot") == "all"
    depots = request.desk.depots if everywhere else [request.desk.depot]
    for depot in depots:
        must(request, "export", depot)
    rows = listed_concessions(request.desk.today, _depots(request, everywhere))
    query = {_("depot"): ", ".join(depot.code for depot in depots)}
    answer = HttpResponse(concession_workbook(rows, query, request.user.get_username()), content_type=XLSX)
    name = f"concessions {request.desk.today.isoformat()}.xlsx"
    answer["Content-Disposition"] = content_disposition_header(True, name)
    return answer


@at_desk()
def ask_concession(request: HttpRequest, tag: str) -> HttpResponse:
    """Ask for one. What was typed stays if it is refused."""
    item = item_in_sight(request, tag)
    must(request, "ask concession", item.depot)
    sent = request.POST if request.method == "POST" else None
    form = AskForm(sent, item=item, check=request.GET.get("check", ""))
    if sent is not None and form.is_valid():
        said = form.cleaned_data
        try:
            with acting(request.desk.who("concession screen")) as act:
                made = ask(
                    act,
                    item,
                    said["check_due"],
                    said["until"],
                    said["reason"],
                    said["risk"],
                    said["conditions"],
                )
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(
                request,
                _("The concession for %(tag)s is asked for. Nothing is extended until it is granted.")
                % {"tag": item.tag},
            )
            return redirect("concession", made.pk)
    return render(
        request,
        "concessions/ask.html",
        {
            "item": item,
            "form": form,
            "mark": mark_of(item, request.desk.today),
            "dues": [
                (due.check_due.name, due.conceded_from or due.due_on, due.check_due.concession_days)
                for due in item.dues.select_related("check_due")
                .filter(status="dated")
                .order_by("check_due__name")
            ],
            "before": listed_concessions(request.desk.today, item=item.pk),
        },
    )


@at_desk()
def concession(request: HttpRequest, number: int) -> HttpResponse:
    """One concession with all that was said of it; whoever may decides it or ends it here."""
    row = _in_sight(request, number)
    found = row.concession
    forms: dict[str, Any] = {"grant": GrantForm(prefix="grant"), "refuse": RefuseForm(prefix="refuse")}
    forms["end"] = EndForm(prefix="end")
    if request.method == "POST":
        must(request, "grant concession", found.item.depot)
        done = _decide(request, found, forms)
        if done is not None:
            return done
    me = request.user.get_username()
    may = request.desk.may("grant concession", found.item.depot)
    asked = row.stands == ASKED
    return render(
        request,
        "concessions/one.html",
        {
            "row": row,
            "concession": found,
            "item": found.item,
            "mark": stands_mark(row, request.desk.today),
            "facts": _facts(row),
            "forms": forms,
            "own": asked and may and me == found.asked_by,
            "failed": asked and may and me in who_failed(found.item, found.check_due),
            "may_decide": asked and may and me != found.asked_by,
            "may_end": row.stands == RUNNING and may,
            "others": [
                other
                for other in listed_concessions(request.desk.today, item=found.item_id)
                if other.pk != row.pk
            ],
        },
    )


def _decide(request: HttpRequest, found: Concession, forms: dict[str, Any]) -> HttpResponse | None:
    """Do what the button says. None if it is refused: the form says why."""
    actions = {"grant": (grant, GrantForm), "refuse": (refuse, RefuseForm), "end": (end, EndForm)}
    do = request.POST.get("do", "")
    if do not in actions:
        raise Http404(f"nothing is called {do!r}")
    action, kind_of_form = actions[do]
    form = forms[do] = kind_of_form(request.POST, prefix=do)
    if not form.is_valid():
        return None
    before = broken_now()
    try:
        with acting(request.desk.who("concession screen")) as act:
            done = action(act, found, *form.cleaned_data.values())
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return None
    said = _("The concession for %(tag)s is %(state)s.") % {
        "tag": done.item.tag,
        "state": _(done.get_state_display()).lower(),
    }
    messages.success(request, said)
    say_what_broke(request, before)
    return redirect("concession", done.pk)


def _in_sight(request: HttpRequest, number: int) -> ListedConcession:
    found = Concession.objects.select_related("item").filter(pk=number).first()
    if found is None:
        raise Http404(f"no concession {number}")
    item = item_in_sight(request, found.item.tag)
    return next(row for row in listed_concessions(request.desk.today, item=item.pk) if row.pk == number)


def _facts(row: ListedConcession) -> list[tuple[Any, Any]]:
    one = row.concession
    at = timezone.localtime(one.asked_at)
    facts: list[tuple[Any, Any]] = [
        (_("Check"), capfirst(one.check_due.name)),
        (_("Was due on"), short_day(one.due_on)),
        (_("Until, that day included"), short_day(one.until)),
        (_("Why the check cannot be done in time"), one.reason),
        (_("Risk"), one.risk),
        (_("Conditions"), one.conditions or _("none")),
        (_("Asked by"), f"{one.asked_by}, {short_day(at.date())}"),
        (_("Times granted for this item"), row.times),
    ]
    if one.decided_on:
        decided = f"{one.decided_by}, {short_day(one.decided_on)}"
        facts.append((_("Decided by"), f"{decided}: {one.decision_note}" if one.decision_note else decided))
    if one.ended_on:
        facts.append((_("Ended by"), f"{one.ended_by}, {short_day(one.ended_on)}: {one.ended_why}"))
    return facts


def item_panel(request: HttpRequest, item: Item) -> Panel | None:
    """All that were asked for the item, with how each stands; nothing if none ever was."""
    today = request.desk.today
    rows = [(row, stands_mark(row, today)) for row in listed_concessions(today, item=item.pk)]
    return Panel("concessions/item_panel.html", {"rows": rows}) if rows else None


def today_panel(request: HttpRequest) -> Panel | None:
    """For who may grant: what is asked for at the depot; for the compliance lead also what runs."""
    if not request.desk.may("grant concession"):
        return None
    rows = listed_concessions(request.desk.today, [request.desk.depot.pk])
    asked = [row for row in rows if row.stands == ASKED]
    running = [row for row in rows if row.stands == RUNNING] if Role.COMPLIANCE in request.desk.roles else []
    running.sort(key=lambda row: row.concession.until)
    if not asked and not running:
        return None
    return Panel(
        "concessions/today_panel.html",
        {
            "asked": asked[:MOST_IN_A_PANEL],
            "asked_in_all": len(asked),
            "running": running[:MOST_IN_A_PANEL],
            "running_in_all": len(running),
            "url": reverse("concessions"),
        },
    )
