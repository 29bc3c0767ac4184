"""Correct a record, or strike it out. The old one stays and shows what stands in its place."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from inspections.actions.correct import correct, strike
from inspections.forms.correction import CorrectForm, StrikeForm
from inspections.models import Inspection, Verdict
from inspections.views.one_record import record_in_sight
from kit.models import State
from kit.stores import NotAllowed, acting, fresh
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import must


@at_desk()
def correct_record(request: HttpRequest, number: int) -> HttpResponse:
    """What was typed stays if it is refused, each refusal at its field."""
    record = record_in_sight(request, number)
    must(request, "inspect", record.item.depot)
    do = request.POST.get("do", "") if request.method == "POST" else ""
    newer = Inspection.objects.filter(corrects=record).first()
    form = strike_form = None
    if not record.struck and newer is None:
        form = CorrectForm(request.POST if do == "correct" else None, record=record)
        strike_form = StrikeForm(request.POST if do == "strike" else None, prefix="strike")
    for asked, name in ((form, "correct"), (strike_form, "strike")):
        if asked is not None and do == name and asked.is_valid():
            done = _do(request, record, asked)
            if done is not None:
                return done
    return render(
        request,
        "correct/page.html",
        {
            "record": record,
            "item": record.item,
            "newer": newer,
            "form": form,
            "strike_form": strike_form,
        },
    )


def _do(request: HttpRequest, record: Inspection, form: Any) -> HttpResponse | None:
    before = broken_now()
    why = form.cleaned_data["why"]
    try:
        with acting(request.desk.who("correction screen")) as act:
            made = (
                correct(act, record, form.said, why)
                if isinstance(form, CorrectForm)
                else strike(act, record, why)
            )
    except NotAllowed as refusal:
        if isinstance(form, CorrectForm):
            form.refuse(refusal)
        else:
            form.add_error(None, str(refusal))
        return None
    messages.success(request, _said(made))
    item = fresh(record.item)
    if item.state == State.QUARANTINED:
        if record.item.state == State.AVAILABLE:
            messages.warning(request, _("%(tag)s is set aside. Tie a defect tag to it.") % {"tag": item.tag})
        else:
            messages.warning(
                request, _("%(tag)s stays in quarantine: a correction releases nothing.") % {"tag": item.tag}
            )
    say_what_broke(request, before)
    return redirect("item", item.tag)


def _said(made: Inspection) -> str:
    check = capfirst(made.check_done.name)
    if made.struck:
        return _("The record of %(check)s of %(tag)s is struck out.") % {"check": check, "tag": made.item.tag}
    return _("%(check)s of %(tag)s is corrected: %(verdict)s.") % {
        "check": check,
        "tag": made.item.tag,
        "verdict": str(Verdict(made.verdict).label).lower(),
    }
