"""The jobs of one's depots, and planning a new one."""

from __future__ import annotations

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.forms.in_force import filters_in_force
from kit.forms.job import PlanForm
from kit.forms.job_filter import OPEN, JobFilter
from kit.models import Job
from kit.stores import NotAllowed, acting, bore_of, plan_job
from kit.tables.jobs import JobTable, with_promises
from kit.views.desk import at_desk
from kit.views.found import must
from kit.views.listing import Listed, Listing, arranged, on_a_page, opens_with, tools

A_PAGE = 25


def _listed(request: HttpRequest, query: QueryDict) -> Listed:
    """Jobs of one's depots; where no state is asked for, those that are planned or out."""
    desk = request.desk
    asked = query.copy()
    asked.setdefault("state", OPEN[0])
    jobs = Job.objects.filter(depot__in=desk.depots).select_related("depot", "arrangement")
    narrowed = JobFilter(asked, depots=desk.depots, queryset=with_promises(jobs))
    table = arranged(JobTable, narrowed.qs, query, today=desk.today)
    form = narrowed.form
    depot = form.cleaned_data.get("depot") if form.is_valid() else None
    chosen = filters_in_force(form, asked)
    return Listed(
        table,
        [depot] if depot else desk.depots,
        "; ".join(one["text"] for one in chosen),
        {"filter": narrowed, "chosen": chosen, "none_at_all": not jobs.exists()},
    )


LISTING = Listing("jobs", "jobs", gettext_lazy("Jobs"), _listed)


@at_desk()
def jobs(request: HttpRequest) -> HttpResponse:
    if usual := opens_with(request, LISTING):
        return usual
    listed = _listed(request, request.GET)
    on_a_page(request, listed.table, A_PAGE)
    return render(
        request,
        "jobs/page.html",
        {
            "table": listed.table,
            "tools": tools(request, LISTING, listed, request.GET),
            "open": set(request.GET) - {"q", "page", "sort", "columns"},
            "may_plan": bool(_depots_to_plan_at(request)),
            **listed.page,
        },
    )


def _depots_to_plan_at(request: HttpRequest) -> list:
    desk = request.desk
    return [depot for depot in desk.depots if desk.may("plan", depot)]


@at_desk()
def plan(request: HttpRequest) -> HttpResponse:
    """Enter a new job."""
    desk = request.desk
    depots = _depots_to_plan_at(request)
    if not depots:
        must(request, "plan", desk.depot)
    form = PlanForm(
        request.POST if request.method == "POST" else None,
        depots=depots,
        initial={"depot": desk.depot},
    )
    if request.method == "POST" and form.is_valid():
        must(request, "plan", form.cleaned_data["depot"])
        try:
            with acting(desk.who("planning screen")) as act:
                job = plan_job(act, Job(**form.details()))
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        except IntegrityError:
            form.add_error("reference", _("Somebody else has just entered a job of this reference."))
        else:
            messages.success(request, _("%(job)s is planned.") % {"job": job})
            if warning := bore_of(job)[2]:
                messages.warning(request, warning)
            return redirect("job", job.reference)
    return render(request, "jobs/plan.html", {"form": form})
