"""Undo one of the last acts of the counter, by whoever did it or a stores person of the depot."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kit.models import Deed, Job, LedgerEntry
from kit.stores import COUNTER, NotAllowed, acting, undo
from kit.views.desk import at_desk


@require_POST
@at_desk()
def counter_undo(request: HttpRequest, number: int) -> HttpResponse:
    entry = LedgerEntry.objects.filter(number=number, source=COUNTER).first()
    job = _job_of(entry) if entry is not None else None
    if entry is None or job is None or job.depot_id not in {depot.pk for depot in request.desk.depots}:
        raise Http404(str(number))
    action = "take back" if entry.deed == Deed.TAKEN_BACK else "issue"
    if entry.actor != request.user.get_username() and not request.desk.may(action, job.depot):
        raise PermissionDenied(_("Only whoever did it, or a stores person of the depot, can undo it."))
    try:
        with acting(request.desk.who(COUNTER)) as act:
            done = undo(act, number)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _said(done.deed, done.tag, str(job)))
    page = request.POST.get("on", "")
    if page == "counter":
        return redirect("counter")
    return redirect("take_back" if action == "take back" else "issue", job.reference)


def _job_of(entry: LedgerEntry) -> Job | None:
    names = entry.mentions.filter(about__startswith="job:").values_list("about", flat=True)
    references = [name.removeprefix("job:") for name in names]
    return Job.objects.select_related("depot").filter(reference__in=references).first()


def _said(deed: str, tag: str, job: str) -> str:
    if not tag:
        return _("Undone: the issue of %(job)s is open again.") % {"job": job}
    if deed == Deed.TAKEN_BACK:
        return _("Undone: %(tag)s is still out on %(job)s.") % {"tag": tag, "job": job}
    return _("Undone: %(tag)s is in the store and not out on %(job)s.") % {"tag": tag, "job": job}
