"""Arrangements: the patterns of a flow stop, with their versions, and a depot's own ones."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Count, OuterRef, Q, Subquery, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from kit.forms.arrangement import MOST_LINES, PREFIX, ArrangementForm, as_typed, lines_formset, lines_of
from kit.models import Arrangement, ArrangementLine, JobState
from kit.stores import NotAllowed, acting, specs_of
from kit.stores.settings_foreseen import ForeseenVersion, foresee_version, set_arrangement_as_seen
from kit.tables.arrangements import ArrangementTable
from kit.views.desk import at_desk
from kit.views.line_words import further_words

SCREEN = "arrangements screen"
SHIPPED = "common practice"
MORE_LINES = 5


def may_arrange(request: HttpRequest) -> bool:
    """Whoever plans jobs or sets checks may also set the patterns of them."""
    desk = request.desk
    return bool(desk.may("plan") or desk.may("set checks"))


def _counted(arrangements: Any) -> Any:
    pieces = ArrangementLine.objects.filter(arrangement=OuterRef("pk")).order_by().values("arrangement")
    return arrangements.annotate(
        pieces=Subquery(pieces.annotate(n=Sum("quantity")).values("n")),
        open_jobs=Count("jobs", filter=Q(jobs__state__in=[JobState.PLANNED, JobState.OUT])),
    )


@at_desk()
def arrangements(request: HttpRequest) -> HttpResponse:
    """Those in use; older versions are reached from each."""
    table = ArrangementTable(_counted(Arrangement.objects.filter(current=True)))
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    return render(request, "arrangements/page.html", {"table": table, "may_arrange": may_arrange(request)})


@at_desk()
def arrangement(request: HttpRequest, number: int) -> HttpResponse:
    """One version: its lines, its other versions, and how many jobs were planned by it."""
    shown = get_object_or_404(Arrangement, pk=number)
    versions = _counted(Arrangement.objects.filter(name=shown.name)).order_by("-version")
    further = further_words(specs_of(shown))
    return render(
        request,
        "arrangements/version.html",
        {
            "arrangement": shown,
            "lines": zip(shown.lines.select_related("kind").order_by("position"), further, strict=True),
            "goes_further": any(further),
            "versions": versions,
            "shipped": SHIPPED in shown.source,
            "may_arrange": may_arrange(request),
        },
    )


@at_desk()
def new_version(request: HttpRequest, number: int | None = None) -> HttpResponse:
    """Make the next version of an arrangement, one of one's own from it, or a new one."""
    if not may_arrange(request):
        raise PermissionDenied(
            _(
                "Your roles at this depot do not include this. A planner or the compliance lead sets arrangements."
            )
        )
    before = get_object_or_404(Arrangement, pk=number) if number else None
    foreseen = None
    if "more" in request.POST:
        # Nothing is judged yet: the same rows as typed, with further empty ones behind them.
        typed = {name: request.POST.get(name, "") for name in ArrangementForm.base_fields}
        form = ArrangementForm(initial=typed)
        lines = lines_formset(spare=MORE_LINES)(initial=as_typed(request.POST), prefix=PREFIX)
    elif request.method == "POST":
        form = ArrangementForm(request.POST)
        lines = lines_formset()(request.POST, prefix=PREFIX)
        if form.is_valid() & lines.is_valid():
            made = _record(request, form, lines, request.POST["seen"]) if "seen" in request.POST else None
            if made is not None:
                return redirect("arrangement", made.pk)
            foreseen = _looked(request, form, lines)
    else:
        form = ArrangementForm(initial=_initial(before, own="own" in request.GET))
        lines = lines_formset()(initial=lines_of(before), prefix=PREFIX)
    context = {
        "form": form,
        "lines": lines,
        "before": before,
        "most": MOST_LINES,
        "foreseen": foreseen,
        "mine": {depot.pk for depot in request.desk.depots},
    }
    return render(request, "arrangements/edit.html", context)


def _initial(before: Arrangement | None, own: bool) -> dict[str, str]:
    if before is None:
        return {}
    # What a person alters is no longer the common practice that was shipped.
    source = "" if SHIPPED in before.source else before.source
    return {"name": "" if own else before.name, "source": source, "note": before.note}


def _looked(request: HttpRequest, form: ArrangementForm, lines: Any) -> ForeseenVersion | None:
    """What the lines as typed would bring; None, with the refusal in the form, if they would be refused."""
    data = form.cleaned_data
    try:
        return foresee_version(
            request.desk.who(SCREEN), data["name"], lines.specs(), data["source"], data["note"]
        )
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return None


def _record(request: HttpRequest, form: ArrangementForm, lines: Any, seen: str) -> Arrangement | None:
    """Record the version as it was looked at; None, with the refusal in the form, if that is not done."""
    data = form.cleaned_data
    try:
        with acting(request.desk.who(SCREEN)) as act:
            made, new = set_arrangement_as_seen(
                act, data["name"], lines.specs(), data["source"], data["note"], seen
            )
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return None
    if new:
        messages.success(
            request,
            _("%(name)s is recorded. Jobs planned before keep the version they have.") % {"name": made},
        )
    else:
        messages.info(request, _("%(name)s has these very lines: no new version was made.") % {"name": made})
    return made
