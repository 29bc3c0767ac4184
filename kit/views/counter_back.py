"""Take kit back: scan a piece or go through the job's list; used, unused, damaged or missing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kit.forms.counter import BackForm
from kit.models import Item, Job, JobState, Outcome, Reservation, Standing
from kit.stores import COUNTER as SOURCE
from kit.stores import NotAllowed, acting, last_acts, take_back
from kit.tables.marks import mark_of
from kit.views.desk import at_desk
from kit.views.found import job_in_sight, must, scanned


def _out() -> Any:
    rows = Reservation.objects.filter(standing=Standing.ISSUED)
    return rows.select_related("job__depot", "item__kind", "item__depot", "item__transit_to", "line")


@at_desk()
def take_back_job(request: HttpRequest, reference: str) -> HttpResponse:
    """What is still out on the job, each with quick buttons; a scan leads to the piece."""
    job = job_in_sight(request, reference)
    must(request, "take back", job.depot)
    if "code" in request.GET:
        found = scanned(request, request.GET["code"], jobs=False)
        row = _out().filter(item=found.item).order_by("issued_on").first() if found.item else None
        if row is not None:
            return redirect("take_back_piece", row.item.tag)
        messages.error(request, _why_not_out(found.items, found.why))
        return redirect("take_back", job.reference)
    rows = list(_out().filter(job=job).order_by("line__position", "item__tag"))
    back = (
        job.reservations.filter(standing=Standing.RETURNED)
        .select_related("item")
        .order_by("-back_on", "item__tag")
    )
    context = {"job": job, "rows": rows, "back": back, "last_acts": last_acts([job.depot], job, most=1)}
    return render(request, "counter/back.html", context)


def _why_not_out(items: list[Item], why: str) -> str:
    if why:
        return why
    if len(items) > 1:
        return _("That may be any of %(tags)s. Choose from the list.") % {
            "tags": ", ".join(i.tag for i in items)
        }
    return _("%(tag)s is not out on any job. It is: %(state)s.") % {
        "tag": items[0].tag,
        "state": _(items[0].get_custody_display()).lower(),
    }


@at_desk()
def take_back_piece(request: HttpRequest, tag: str) -> HttpResponse:
    """One item that is out: which job, and the four ways in which it can have come back."""
    rows = [row for row in _out().filter(item__tag=tag).order_by("issued_on") if _may(request, row)]
    if not rows:
        # It may have come back a moment ago at another counter.
        found = scanned(request, tag, jobs=False)
        if not found.items:
            raise Http404(tag)
        messages.info(request, _("%(tag)s is not out.") % {"tag": tag})
        return redirect("item", tag)
    return _piece_page(request, rows, {row.pk: _form(row) for row in rows})


def _may(request: HttpRequest, row: Reservation) -> bool:
    return bool(request.desk.may("take back", row.job.depot))


def _form(row: Reservation, data: Any = None) -> BackForm:
    return BackForm(data, reservation=row, auto_id=f"id_{row.pk}_%s")


def _piece_page(request: HttpRequest, rows: list[Reservation], forms: dict[int, BackForm]) -> HttpResponse:
    parts = [(row, forms[row.pk]) for row in rows]
    item = rows[0].item
    context = {
        "item": item,
        "parts": parts,
        "mark": mark_of(item, request.desk.today),
        "today": request.desk.today,
    }
    return render(request, "counter/back_piece.html", context)


@require_POST
@at_desk()
def take_back_one(request: HttpRequest, number: int) -> HttpResponse:
    """One reservation comes back: pressed on the job's list, or on the piece's page with day and reason."""
    row = Reservation.objects.select_related("job__depot", "item__kind", "line").filter(pk=number).first()
    if row is None or not any(depot.pk == row.job.depot_id for depot in request.desk.depots):
        raise Http404(str(number))
    must(request, "take back", row.job.depot)
    data = request.POST.copy()
    data.setdefault("back_on", request.desk.today.isoformat())
    form = _form(row, data)
    if not form.is_valid():
        return _piece_page(request, [row], {row.pk: form})
    asked = form.cleaned_data
    try:
        with acting(request.desk.who(SOURCE)) as act:
            take_back(act, row, asked["outcome"], asked["back_on"], asked.get("quantity"), asked["why"])
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return _piece_page(request, [row], {row.pk: form})
    job = Job.objects.get(pk=row.job_id)
    messages.success(request, _said(row, asked["outcome"]))
    if job.state == JobState.CLOSED:
        messages.info(
            request, _("All kit of %(job)s is back or accounted for. The job is closed.") % {"job": job}
        )
    return redirect(f"{reverse('take_back', args=[job.reference])}#still-out")


def _said(row: Reservation, outcome: str) -> str:
    said = {
        Outcome.USED: _("%(tag)s is back, used."),
        Outcome.UNUSED: _("%(tag)s is back, unused."),
        Outcome.DAMAGED: _("%(tag)s is back, damaged, and set aside. Tie a defect tag to it."),
        Outcome.MISSING: _("%(tag)s is noted as missing."),
    }[Outcome(outcome)]
    return said % {"tag": row.item.tag}
