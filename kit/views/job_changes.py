"""Changes to a job that need a word: its details, what is given up, another piece by hand."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from kit.forms.job import ChangeForm, WhyForm
from kit.forms.substitute import SubstituteForm
from kit.models import Job, Reservation, Standing
from kit.stores import (
    Act,
    NotAllowed,
    acting,
    bore_of,
    cancel_job,
    change_job,
    kit_list_of,
    let_go,
    let_go_all,
    substitute,
)
from kit.stores.plan_job import JOB_DETAILS
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import job_in_sight, must, scanned
from kit.views.job import SCREEN


@at_desk()
def change(request: HttpRequest, reference: str) -> HttpResponse:
    """Change the window, the bore or another detail; what breaks by it is said at once."""
    job = job_in_sight(request, reference)
    must(request, "plan", job.depot)
    desk = request.desk
    depots = [depot for depot in desk.depots if desk.may("plan", depot)]
    before = {name: getattr(job, name) for name in JOB_DETAILS}
    form = ChangeForm(
        request.POST if request.method == "POST" else None, depots=depots, job=job, initial=before
    )
    if request.method == "POST" and form.is_valid():
        details = form.details()
        must(request, "plan", details["depot"])
        broken = broken_now()
        try:
            with acting(desk.who(SCREEN)) as act:
                fresh = Job.objects.select_related("depot", "arrangement").get(pk=job.pk)
                changed = change_job(act, fresh, form.cleaned_data["note"], **details)
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            _say_what_changed(request, fresh, changed, broken)
            return redirect("job", job.reference)
    return render(request, "job/change.html", {"job": job, "form": form})


def _say_what_changed(request: HttpRequest, job: Job, changed: bool, broken_before: frozenset[int]) -> None:
    if not changed:
        messages.info(request, _("Nothing differs from what was recorded."))
        return
    messages.success(request, _("%(job)s is changed.") % {"job": job})
    say_what_broke(request, broken_before)
    if warning := bore_of(job)[2]:
        messages.warning(request, warning)


@at_desk()
def cancel(request: HttpRequest, reference: str) -> HttpResponse:
    job = job_in_sight(request, reference)
    must(request, "plan", job.depot)

    def act_on(act: Act, why: str) -> str:
        cancel_job(act, job, why)
        return _("%(job)s is cancelled, and what was promised to it is free again.") % {"job": job}

    return _with_reason(request, job, act_on, _("Cancel %(job)s") % {"job": job}, _("Cancel the job"))


@at_desk()
def let_go_of_all(request: HttpRequest, reference: str) -> HttpResponse:
    job = job_in_sight(request, reference)
    must(request, "reserve", job.depot)

    def act_on(act: Act, why: str) -> str:
        number = let_go_all(act, job, why)
        return _("%(n)s promises of %(job)s are let go.") % {"n": number, "job": job}

    return _with_reason(
        request, job, act_on, _("Let go all that %(job)s was promised") % {"job": job}, _("Let all go")
    )


@at_desk()
def let_go_of_one(request: HttpRequest, number: int) -> HttpResponse:
    reservation = _reservation(request, number)
    job = reservation.job

    def act_on(act: Act, why: str) -> str:
        let_go(act, _reservation(request, number), why)
        return _("%(tag)s is let go for %(job)s.") % {"tag": reservation.item, "job": job}

    title = _("Let %(tag)s go for %(job)s") % {"tag": reservation.item, "job": job}
    return _with_reason(request, job, act_on, title, _("Let go"))


def _with_reason(
    request: HttpRequest, job: Job, act_on: Callable[[Act, str], str], title: str, press: str
) -> HttpResponse:
    """A page that asks why, does it, and keeps what was typed if it is refused."""
    form = WhyForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            with acting(request.desk.who(SCREEN)) as act:
                done = act_on(act, form.cleaned_data["why"])
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, done)
            return redirect("job", job.reference)
    return render(request, "job/why.html", {"job": job, "form": form, "title": title, "press": press})


@at_desk()
def put_another(request: HttpRequest, number: int) -> HttpResponse:
    """Put another piece in the place of a promised or broken one: from what also fits, or by its tag."""
    reservation = _reservation(request, number)
    job = reservation.job
    kit = kit_list_of(job, mend="nothing")
    also = [each.tag for each in kit.also_fit if each.line == reservation.line.name]
    held = set(job.reservations.filter(standing=Standing.PROMISED).values_list("item__tag", flat=True))
    best = [
        tag
        for line in kit.lines
        if line.line.name == reservation.line.name
        for tag in line.tags
        if tag not in held
    ]
    form = SubstituteForm(
        request.POST if request.method == "POST" else None, offered=[*best, *also], first=reservation.proposed
    )
    if request.method == "POST" and form.is_valid():
        found = scanned(request, form.cleaned_data["other"], jobs=False)
        if found.item is None:
            form.add_error("tag", found.why or _("More than one item is called so: write its case exactly."))
        else:
            try:
                with acting(request.desk.who(SCREEN)) as act:
                    substitute(act, _reservation(request, number), found.item, form.cleaned_data["why"])
            except NotAllowed as refusal:
                form.add_error(None, str(refusal))
            else:
                messages.success(
                    request,
                    _("%(other)s is reserved in the place of %(tag)s.")
                    % {"other": found.item, "tag": reservation.item},
                )
                return redirect("job", job.reference)
    return render(request, "job/substitute.html", {"job": job, "reservation": reservation, "form": form})


def _reservation(request: HttpRequest, number: int) -> Reservation:
    """The promise of this number, of a job in sight of a person who may reserve for it."""
    reservation = (
        Reservation.objects.select_related("job__depot", "job__arrangement", "line", "item__kind", "proposed")
        .filter(pk=number)
        .first()
    )
    if reservation is None:
        raise Http404("no such reservation")
    job_in_sight(request, reservation.job.reference)
    must(request, "reserve", reservation.job.depot)
    return reservation
