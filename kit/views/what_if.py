"""Trial plans: what would be if, worked out beside what is, and nothing of it done."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from kit import trial_plans
from kit.forms.readiness import ReadinessForm, usual
from kit.forms.what_if import FORMS
from kit.long_work import Note, note_for, see_to
from kit.models import TrialPlan
from kit.planning.what_if import Change
from kit.stores import NotAllowed
from kit.stores.what_if import Asked, is_quick, weigh_up
from kit.views.desk import at_desk, told
from kit.views.what_if_shown import shown
from kit.views.what_if_words import in_words


def _plan(request: HttpRequest, number: int) -> TrialPlan:
    """The plan, if it is kept at a depot at which the person plans."""
    desk = request.desk
    own = [depot.pk for depot in desk.depots if desk.may("plan", depot)]
    return get_object_or_404(TrialPlan.objects.select_related("depot", "owner"), pk=number, depot__in=own)


def _own_plan(request: HttpRequest, number: int) -> TrialPlan:
    plan = _plan(request, number)
    if plan.owner_id != request.user.pk:
        raise NotAllowed(_("This plan is %(who)s's: copy it, and change the copy.") % {"who": plan.owner})
    return plan


@at_desk("plan")
def what_if(request: HttpRequest) -> HttpResponse:
    """The trial plans of the depot, and a new one."""
    desk = request.desk
    name = request.POST.get("name", "")
    if request.method == "POST":
        copied = request.POST.get("copied", "")
        source = _plan(request, int(copied)) if copied.isdecimal() else None
        try:
            plan = trial_plans.make(request.user, desk.depot, name, timezone.now(), source)
        except NotAllowed as refusal:
            messages.error(request, str(refusal))
        else:
            return redirect("trial_plan", plan.pk)
    plans = TrialPlan.objects.filter(depot=desk.depot).select_related("owner")
    return render(request, "what_if/list.html", {"plans": plans, "name": name})


@require_safe
@at_desk("plan")
def trial_plan(request: HttpRequest, number: int) -> HttpResponse:
    """What the plan would bring, beside what is."""
    plan = _plan(request, number)
    changes = trial_plans.changes_of(plan)
    form = _counted(request, plan)
    page: dict[str, Any] = {
        "plan": plan,
        "mine": plan.owner_id == request.user.pk,
        "changes": [
            {"words": in_words(change), "place": place, "data": plan.changes[place]}
            for place, change in enumerate(changes)
        ],
        "sorts": [(name, label) for name, (label, _form) in FORMS.items()],
        "form": form,
    }
    if form.is_valid():
        noted = _weighed(request, plan, changes, form)
        page |= {"noted": noted, "query": request.GET.urlencode()}
        if noted["state"] == "done":
            page |= shown(noted["answer"])
    return render(request, "what_if/page.html", page)


@require_safe
@at_desk("plan")
def trial_plan_progress(request: HttpRequest, number: int) -> JsonResponse:
    plan = _plan(request, number)
    form = _counted(request, plan)
    if not form.is_valid():
        raise Http404("nothing is being worked out")
    noted = _note(request, plan, form).read()
    address = f"{reverse('trial_plan', args=[plan.pk])}?{request.GET.urlencode()}"
    return JsonResponse(
        {
            "state": noted["state"] if noted["state"] in ("running", "done") else "failed",
            "done": noted.get("done", 0),
            "total": noted.get("total"),
            "text": noted.get("text", ""),
            "next": None if noted["state"] == "running" else address,
        }
    )


def _counted(request: HttpRequest, plan: TrialPlan) -> ReadinessForm:
    """Of which stops are counted beside the jobs: as asked in the address, else as is usual at the depot."""
    query = request.GET.copy()
    for name, value in usual(plan.depot).items():
        query.setdefault(name, value)
    return ReadinessForm(query, depots=request.desk.depots)


def _asked(request: HttpRequest, plan: TrialPlan, form: ReadinessForm) -> Asked:
    given = form.cleaned_data
    depots = [given["depot"]] if given["depot"] else list(request.desk.depots)
    return Asked(
        changes=tuple(trial_plans.changes_of(plan)),
        depots=tuple(depot.code for depot in depots),
        arrangement=given["arrangement"],
        main=form.main(),
        first=given["first"],
        days=given["days"],
        today=request.desk.today,
    )


def _note(request: HttpRequest, plan: TrialPlan, form: ReadinessForm) -> Note:
    return note_for(request.user.pk, "what if", _asked(request, plan, form))


def _weighed(
    request: HttpRequest, plan: TrialPlan, changes: list[Change], form: ReadinessForm
) -> dict[str, Any]:
    asked = _asked(request, plan, form)
    note = _note(request, plan, form)
    return see_to(note, lambda progress: weigh_up(asked, progress), aside=not is_quick(asked))


@at_desk("plan")
def trial_plan_change(request: HttpRequest, number: int, sort: str) -> HttpResponse:
    """One change more."""
    if sort not in FORMS:
        raise Http404("no such change")
    try:
        plan = _own_plan(request, number)
    except NotAllowed as refusal:
        return told(request, refusal, "trial_plan", number)
    label, made = FORMS[sort]
    form = made(
        request.POST if request.method == "POST" else None,
        depots=request.desk.depots,
        initial={"depot": plan.depot.code},
    )
    if request.method == "POST" and form.is_valid():
        try:
            trial_plans.add(plan, form.change(), timezone.now())
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("trial_plan", plan.pk)
    return render(request, "what_if/change.html", {"plan": plan, "label": label, "form": form})


@require_POST
@at_desk("plan")
def trial_plan_take_out(request: HttpRequest, number: int, place: int) -> HttpResponse:
    """Take a change out again."""
    try:
        plan = _own_plan(request, number)
        changes = trial_plans.changes_of(plan)
        said = request.POST.get("words", "")
        if place >= len(changes) or in_words(changes[place]) != said:
            raise NotAllowed(_("The plan has changed meanwhile: look again which change to take out."))
        trial_plans.take_out(plan, place, plan.changes[place], timezone.now())
    except NotAllowed as refusal:
        return told(request, refusal, "trial_plan", number)
    messages.success(request, _("Taken out of the plan: %(what)s.") % {"what": said})
    return redirect("trial_plan", number)


@require_POST
@at_desk("plan")
def trial_plan_throw_away(request: HttpRequest, number: int) -> HttpResponse:
    try:
        plan = _own_plan(request, number)
    except NotAllowed as refusal:
        return told(request, refusal, "trial_plan", number)
    trial_plans.throw_away(plan)
    messages.success(request, _("The trial plan %(name)s is thrown away.") % {"name": plan.name})
    return redirect("what_if")
