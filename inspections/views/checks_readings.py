"""What is read at a check: a depot sets up a form of its own, row by row, and sees it as the bench will show it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspections.actions import set_checks
from inspections.actions.check_specs import spec_of
from inspections.actions.regimes import rule_on, starts_on, states_first_rule
from inspections.forms.checks import WhenForm
from inspections.forms.checks_readings import as_shown, rearranged, rows_sent, shipped_choices, shown_rows
from inspections.judging import Form, FormFault, shipped_form
from inspections.judging.forms import MOST_FIELDS
from inspections.limits import form_of
from inspections.models import Check, Method
from inspections.reading_rows import RowFault, form_of_rows, rows_of
from kit.models import Kind
from kit.sentences import said as in_words
from kit.stores import NotAllowed, acting
from kit.views.desk import at_desk
from kit.views.found import must

SOURCE = "readings screen"
Rows = list[dict[str, str]]


@at_desk("set checks")
def check_readings(request: HttpRequest, number: int, check: int) -> HttpResponse:
    """The rows of the form; every button sends them along, so that nothing typed is lost."""
    kind = get_object_or_404(Kind, pk=number)
    of = get_object_or_404(Check, pk=check, kind=kind, method=Method.PLAIN)
    sent = request.POST if request.method == "POST" else None
    rows, faults, fault = _rows_of(of) if sent is None else rows_sent(sent), [], ""
    do = "" if sent is None else sent.get("do", "show")
    when = WhenForm(None, first_rule=states_first_rule(kind), kind=kind, today=request.desk.today)
    if sent is not None:
        must(request, "set checks", request.desk.depot)
        if request.htmx:
            return render(request, "checks/as_shown.html", {"shown": as_shown(rows)})
        when = WhenForm(
            sent if do == "record" else None,
            first_rule=states_first_rule(kind),
            kind=kind,
            today=request.desk.today,
            initial=sent.dict(),
        )
        if do == "record":
            answer = _record(request, of, rows, when)
            if isinstance(answer, HttpResponse):
                return answer
            faults = answer
            fault = next((one.sentence for one in faults if one.row is None), "")
        elif do == "start":
            rows = _start_from(sent.get("shipped", "")) or rows
        elif do == "show":
            found = form_of_rows(rows) if rows else None
            faults = found if isinstance(found, list) else []
        else:
            rows = rearranged(rows, do)
    context: dict[str, Any] = {
        "kind": kind,
        "check": of,
        "rows": shown_rows(rows, faults),
        "fault": fault,
        "when": when,
        "shown": as_shown(rows),
        "shipped": shipped_choices(),
        "room": len(rows) < MOST_FIELDS,
        "focus": _focus(do, len(rows)),
    }
    return render(request, "checks/readings.html", context)


def _rows_of(check: Check) -> Rows:
    try:
        return rows_of(form_of(check)) if check.form else []
    except FormFault:
        return []


def _start_from(choice: str) -> Rows:
    """The rows of a shipped form, named kind|check."""
    kind, _bar, name = choice.partition("|")
    form = shipped_form(kind, name)
    return rows_of(form) if form else []


def _focus(do: str, number: int) -> int:
    """The row at which the person goes on after a button, counted from 1; 0: none."""
    what, _dash, place = do.partition("-")
    if what == "add":
        return number
    if not place.isdecimal():
        return 0
    moved = int(place) + {"up": 0, "down": 2}.get(what, 1)
    return max(1, min(moved, number))


def _record(request: HttpRequest, check: Check, rows: Rows, when: WhenForm) -> HttpResponse | list[RowFault]:
    """Set the form as a new version, or say what is wrong in which row."""
    found = form_of_rows(rows) if rows else None
    sound = when.is_valid()
    if isinstance(found, list) or not sound:
        return found if isinstance(found, list) else []
    said = when.cleaned_data
    try:
        with acting(request.desk.who(SOURCE)) as act:
            rule = rule_on(check, starts_on(check.kind, act.today, said["from_day"]))
            form = _json(rule.form, found)
            changed = set_checks(
                act,
                check.kind,
                [replace(spec_of(check.name, rule), form=form)],
                from_day=said["from_day"],
                why=said["why"],
                dropped=(),
            )
    except NotAllowed as refusal:
        return [RowFault(None, "name", str(refusal))]
    if changed:
        messages.success(
            request,
            _("What is read at %(check)s of %(kind)s is recorded as a new version.")
            % {"check": in_words(check.name), "kind": in_words(check.kind.name)},
        )
    else:
        messages.info(request, _("Nothing differs from what was recorded."))
    return redirect("kind_checks", check.kind_id)


def _json(before: dict[str, Any], found: Form | None) -> dict[str, Any]:
    """The form as it is kept; it says still where it came from while it is the same."""
    if found is None:
        return {}
    same = {key: value for key, value in before.items() if key != "source"} == found.as_json()
    return before if same else found.as_json()
