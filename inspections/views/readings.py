"""Checks whose verdict is computed: a hold test made elsewhere, a calibration, a check read into a form."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from inspections.actions.calibrations import (
    BadPoints,
    CalibrationRead,
    calibration_findings,
    record_calibration,
)
from inspections.actions.form_checks import BadAnswers, record_answers
from inspections.actions.hold_tests import NotEvidence, record_hold_test
from inspections.bench import checks_asked, gauges_at
from inspections.forms.answers import AnswersForm
from inspections.forms.calibration import CalibrationForm
from inspections.forms.readings import HoldTestForm
from inspections.judging import UNITS, FormFault, HoldTest
from inspections.limits import form_of
from inspections.models import Check, Inspection, Method
from inspections.views.hold import put_at_fields
from kit.models import Item
from kit.stores import Act, NotAllowed, acting
from kit.tables.marks import mark_of
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must

SOURCE = "bench screen"


def _asked(request: HttpRequest, tag: str, method: str) -> tuple[Item, Check | None]:
    """The item, and the check in the address if it is of that method, else the first that is."""
    item = item_in_sight(request, tag)
    must(request, "inspect", item.depot)
    wanted = request.GET.get("check", "")
    checks = [check for check in checks_asked(item) if check.method == method]
    if method == Method.PLAIN:
        checks = [check for check in checks if check.form]
    return item, next((one for one in checks if one.name == wanted), checks[0] if checks else None)


def _without(request: HttpRequest, item: Item) -> HttpResponse:
    messages.info(
        request, _("No such check is asked of %(tag)s now: choose from those that are.") % {"tag": item.tag}
    )
    return redirect("record", item.tag)


def _page(request: HttpRequest, template: str, item: Item, check: Check, form: Any) -> HttpResponse:
    mark = mark_of(item, request.desk.today)
    return render(request, template, {"item": item, "check": check, "form": form, "mark": mark})


def _told(request: HttpRequest, made: Inspection, before: frozenset[int]) -> HttpResponse:
    """On to the record, where the verdict stands in large type."""
    messages.success(
        request,
        _("%(check)s of %(tag)s is recorded.")
        % {"check": capfirst(made.check_done.name), "tag": made.item.tag},
    )
    say_what_broke(request, before)
    return redirect("inspection", made.pk)


def _recorded(request: HttpRequest, form: Any, record: Callable[[Act], Inspection]) -> HttpResponse | None:
    """Record in one act, and tell what came of it; None if it is refused, with each refusal at its field."""
    before = broken_now()
    try:
        with acting(request.desk.who(SOURCE)) as act:
            made = record(act)
    except (BadPoints, BadAnswers) as refusal:
        form.put_faults(refusal.faults)
    except NotEvidence as refusal:
        put_at_fields(form, refusal)
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
    else:
        return _told(request, made, before)
    return None


@at_desk()
def hold_elsewhere(request: HttpRequest, tag: str) -> HttpResponse:
    """A hold test that was made elsewhere, or on another day: all its values at once."""
    item, check = _asked(request, tag, Method.HOLD_TEST)
    if check is None:
        return _without(request, item)
    gauges = gauges_at([depot.pk for depot in request.desk.depots]).items
    unit = check.unit if check.unit in UNITS else UNITS[0]
    sent = request.POST if request.method == "POST" else None
    form = HoldTestForm(sent, gauges=gauges, initial={"unit": unit, "minutes": _minutes(check)})
    if sent is not None and form.is_valid():
        asked = form.cleaned_data
        readings = ("start_pressure", "end_pressure", "unit", "minutes", "start_c", "end_c", "ambient_bar")
        test = HoldTest(**{name: asked[name] for name in readings})
        answer = _recorded(
            request,
            form,
            lambda act: record_hold_test(
                act,
                item,
                check,
                asked["gauge"],
                test,
                asked["done_on"],
                by=asked["by"],
                note=asked["note"],
            ),
        )
        if answer is not None:
            return answer
    return _page(request, "record/hold_test.html", item, check, form)


def _minutes(check: Check) -> str:
    return f"{check.hold_minutes.normalize():f}" if check.hold_minutes else ""


@at_desk()
def calibrate(request: HttpRequest, tag: str) -> HttpResponse:
    """The grid of a calibration; sent by htmx, the verdict that it would have, and nothing is recorded."""
    item, check = _asked(request, tag, Method.CALIBRATION)
    if check is None:
        return _without(request, item)
    sent = request.POST if request.method == "POST" else None
    form = CalibrationForm(sent, rule=check, label_suffix="")
    if sent is not None and (request.htmx or "preview" in sent):
        preview = _preview(request, item, check, form)
        if request.htmx:
            return render(request, "record/calibration_preview.html", {"preview": preview})
        return render(
            request,
            "record/calibration.html",
            {
                "item": item,
                "check": check,
                "form": form,
                "preview": preview,
                "mark": mark_of(item, request.desk.today),
            },
        )
    if sent is not None and form.is_valid():
        asked = form.cleaned_data
        answer = _recorded(
            request,
            form,
            lambda act: record_calibration(
                act,
                item,
                check,
                form.calibration,
                asked["done_on"],
                by=asked["by"],
                certificate=asked["certificate"],
                note=form.full_note,
            ),
        )
        if answer is not None:
            return answer
    return _page(request, "record/calibration.html", item, check, form)


def _preview(request: HttpRequest, item: Item, check: Check, form: CalibrationForm) -> dict[str, Any]:
    """What the points typed so far would say. Fields besides the points may still be empty."""
    form.is_valid()
    points = [name for name in form.errors if name[-1].isdigit() or name in ("unit", "uncertainty")]
    if points:
        return {"text": next(iter(form.errors[points[0]]))}
    day = form.cleaned_data.get("done_on") or request.desk.today
    [found] = calibration_findings([CalibrationRead(item, check, form.calibration, day)], request.desk.today)
    if isinstance(found, BadPoints):
        return {"text": found.faults[0].text}
    return {"text": found.why, "verdict": found.verdict, "as_left": found.as_left}


@at_desk()
def form_check(request: HttpRequest, tag: str) -> HttpResponse:
    """A check read into its form: the fields come from the form's data, the verdict from the answers."""
    item, check = _asked(request, tag, Method.PLAIN)
    if check is None:
        return _without(request, item)
    try:
        asked_for = form_of(check)
    except FormFault as fault:
        messages.error(request, _("The form of this check cannot be read. %(fault)s") % {"fault": fault})
        return redirect("item", item.tag)
    sent = request.POST if request.method == "POST" else None
    gauges = gauges_at([depot.pk for depot in request.desk.depots]).items
    form = AnswersForm(sent, form=asked_for, gauges=gauges)
    if sent is not None and form.is_valid():
        asked = form.cleaned_data
        answer = _recorded(
            request,
            form,
            lambda act: record_answers(
                act,
                item,
                check,
                form.texts,
                asked["done_on"],
                gauge=asked["gauge"],
                by=asked["by"],
                certificate=asked["certificate"],
                note=asked["note"],
            ),
        )
        if answer is not None:
            return answer
    return _page(request, "record/form_check.html", item, check, form)
