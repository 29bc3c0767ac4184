"""The jobs of one's depots, and planning a new one."""

from __future__ import annotations

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from kit.forms.in_force import filters_in_force
from kit.forms.job import PlanForm
from kit.forms.job_filter import OPEN, JobFilter
from kit.models import Job
from kit.stores import NotAllowed, acting, bore_of, plan_job
from kit.tables.jobs import JobTable, with_promises
from kit.views.desk import at_desk
from kit.views.found import must

A_PAGE = 25


@at_desk()
def jobs(request: HttpRequest) -> HttpResponse:
    """All jobs of one's depots; where no state is asked for, those that are planned or out."""
    desk = request.desk
    asked = request.GET.copy()
    asked.setdefault("state", OPEN[0])
    listed = Job.objects.filter(depot__in=desk.depots).select_related("depot", "arrangement")
    narrowed = JobFilter(asked, depots=desk.depots, queryset=with_promises(listed))
    table = JobTable(narrowed.qs, today=desk.today)
    RequestConfig(request, paginate={"per_page": A_PAGE}).configure(table)
    return render(
        request,
        "jobs/page.html",
        {
            "table": table,
            "filter": narrowed,
            "chosen": filters_in_force(narrowed.form, asked),
            "open": set(request.GET) - {"q", "page", "sort"},
            "may_plan": bool(_depots_to_plan_at(request)),
            "none_at_all": not listed.exists(),
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
