"""The checks of a kind: what is asked for, how often, and whether an item goes out without it."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.actions import set_checks
from inspections.forms.checks import checks_formset, checks_of
from inspections.models import Check
from inspections.views.panels import interval_in_words
from kit.models import Item, Kind
from kit.stores import NotAllowed, acting
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import must

PREFIX = "check"


@at_desk()
def kind_checks(request: HttpRequest, number: int) -> HttpResponse:
    """Those in force, which the compliance lead changes here, and those asked for no more."""
    kind = get_object_or_404(Kind, pk=number)
    in_force = Check.objects.in_force().filter(kind=kind).order_by("name")
    rows = checks_formset()(initial=checks_of(kind), prefix=PREFIX)
    fault = ""
    if request.method == "POST":
        must(request, "set checks", request.desk.depot)
        rows = checks_formset()(request.POST, prefix=PREFIX)
        if rows.is_valid():
            try:
                _record(request, kind, rows)
            except NotAllowed as refusal:
                fault = str(refusal)
            else:
                return redirect("kind_checks", kind.pk)
    context = {
        "kind": kind,
        "rows": rows,
        "fault": fault,
        "in_force": [(check, interval_in_words(check)) for check in in_force],
        "retired": Check.objects.filter(kind=kind, retired=True).order_by("name"),
        "may_set": request.desk.may("set checks"),
    }
    return render(request, "checks/page.html", context)


def _record(request: HttpRequest, kind: Kind, rows: object) -> None:
    """Set the checks, and say what came of it: items in fettle before and after, promises that broke."""
    today = request.desk.today
    before, fit_before = broken_now(), _in_fettle(kind, today)
    with acting(request.desk.who("settings screen")) as act:
        changed = set_checks(act, kind, rows.specs(kind))  # type: ignore[attr-defined]
    if not changed:
        messages.info(request, _("Nothing differs from what was recorded."))
        return
    messages.success(
        request,
        _(
            "The checks of %(kind)s are recorded, and all due dates follow them. Past verdicts stay as they are."
        )
        % {"kind": kind},
    )
    fewer = fit_before - _in_fettle(kind, today)
    if fewer > 0:
        text = ngettext(
            "%(n)s item is no longer in fettle because of it.",
            "%(n)s items are no longer in fettle because of it.",
            fewer,
        )
        messages.warning(request, text % {"n": fewer})
    say_what_broke(request, before)


def _in_fettle(kind: Kind, today: date) -> int:
    return Item.objects.fit_through(today).in_use().filter(kind=kind).count()
