"""Issue at the counter: scan what goes out, see what is still to scan, close the issue."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kit.forms.counter import FinishForm, LateForm
from kit.models import Deed, Item, Job, LedgerEntry, Standing
from kit.ports import ports
from kit.sentences import said as in_words
from kit.stores import COUNTER as SOURCE
from kit.stores import NotAllowed, acting, finish_issue, issue_piece, last_acts, short_lines
from kit.stores.reserve import reservations_to_issue
from kit.stores.set_promises import sets_in_part
from kit.tables.marks import conceded, short_day
from kit.views.desk import at_desk
from kit.views.found import LONGEST_CODE, job_in_sight, must, scanned


@at_desk()
def issue(request: HttpRequest, reference: str) -> HttpResponse:
    job = job_in_sight(request, reference)
    must(request, "issue", job.depot)
    return _page(request, job, FinishForm())


def _page(request: HttpRequest, job: Job, form: FinishForm) -> HttpResponse:
    """With ?on=DAY what is scanned is a late entry of what left on that day."""
    late = LateForm(request.GET if "on" in request.GET else None)
    day = late.cleaned_data["on"] if late.is_bound and late.is_valid() else None
    context = {
        "job": job,
        "form": form,
        "late": late,
        "late_day": day,
        "late_hidden": [("issued_on", day.isoformat())] if day else [],
        **_lists(job),
    }
    return render(request, "counter/issue.html", context)


def _lists(job: Job) -> dict[str, Any]:
    """What is still to scan, in the order of the racks, what is out, what is in the way, what nobody promised."""
    rows = job.reservations.select_related("item__kind", "line", "proposed").order_by(
        "line__position", "item__tag"
    )
    to_scan = reservations_to_issue(job)
    for row in to_scan:
        row.conceded = conceded(row.item.gates)
    promised: dict[str, int] = defaultdict(int)
    for row in to_scan:
        promised[row.line.name] += row.quantity
    lacking = [(line.short - promised[line.line], line.line) for line in short_lines(job)]
    return {
        "to_scan": to_scan,
        "issued": [row for row in rows if row.standing == Standing.ISSUED],
        "broken": [row for row in rows if row.standing == Standing.BROKEN],
        "lacking": [(number, line) for number, line in lacking if number > 0],
        "parted": sets_in_part(job),
        "last_acts": last_acts([job.depot], job, most=1),
    }


@require_POST
@at_desk()
def issue_scan(request: HttpRequest, reference: str) -> HttpResponse:
    """One scanned piece: issued, or refused with why. A fragment, or a message where no script asks."""
    job = job_in_sight(request, reference)
    must(request, "issue", job.depot)
    found = scanned(request, request.POST.get("code", ""), jobs=False)
    if found.item is None:
        return _answer(request, job, "refused", found.refusal)
    day = None
    if request.POST.get("issued_on"):
        late = LateForm({"on": request.POST["issued_on"]})
        if not late.is_valid():
            return _answer(request, job, "refused", " ".join(late.errors["on"]), found.item)
        day = late.cleaned_data["on"]
    if _scanned_just_now(request, job, found.item):
        said = _("%(tag)s went out to %(job)s a moment ago: the second scan is ignored.")
        return _answer(request, job, "note", said % {"tag": found.item.tag, "job": job}, found.item)
    try:
        with acting(request.desk.who(SOURCE)) as act:
            made = issue_piece(act, job, found.item, day)
    except NotAllowed as refusal:
        return _answer(request, job, "refused", str(refusal), found.item)
    of = _("%(n)s of ") % {"n": made.quantity} if made.counted else ""
    said = _("%(of)s%(tag)s goes out to %(job)s, for %(line)s.") % {
        "of": of,
        "tag": made.item.tag,
        "job": job,
        "line": in_words(made.line.name),
    }
    if day is not None:
        said += " " + _("Entered late: it left on %(day)s.") % {"day": short_day(day)}
    said = " ".join([said, *ports.judge.concessions([made.item_id]).get(made.item_id, [])])
    return _answer(request, job, "done", said, made.item)


def _scanned_just_now(request: HttpRequest, job: Job, item: Item) -> bool:
    """Whether this very person issued the piece to this job within seconds: a label that was read twice."""
    if not job.reservations.filter(item=item, standing=Standing.ISSUED).exists():
        return False
    since = timezone.now() - timedelta(seconds=settings.COUNTER_DOUBLE_SCAN_SECONDS)
    entries = LedgerEntry.objects.filter(recorded_at__gte=since, deed=Deed.ISSUED, source=SOURCE)
    return (
        entries.filter(actor=request.user.get_username(), mentions__about=f"item:{item.tag}")
        .filter(mentions__about=f"job:{job.reference}")
        .exists()
    )


def _answer(request: HttpRequest, job: Job, kind: str, said: str, item: Item | None = None) -> HttpResponse:
    if not request.htmx:
        by_kind = {"refused": messages.error, "note": messages.info}
        by_kind.get(kind, messages.success)(request, said)
        return redirect("issue", job.reference)
    job = Job.objects.select_related("depot", "arrangement").get(pk=job.pk)
    code = request.POST.get("code", "")[:LONGEST_CODE]
    return render(
        request,
        "counter/answer.html",
        {"kind": kind, "said": said, "item": item, "code": code, "job": job, **_lists(job)},
    )


@require_POST
@at_desk()
def issue_finish(request: HttpRequest, reference: str) -> HttpResponse:
    """The van leaves. What was typed stays if it is refused."""
    job = job_in_sight(request, reference)
    must(request, "issue", job.depot)
    form = FinishForm(request.POST)
    if not form.is_valid():
        return _page(request, job, form)
    try:
        with acting(request.desk.who(SOURCE)) as act:
            finish_issue(act, job, form.cleaned_data["why_short"])
    except NotAllowed as refusal:
        form.add_error("why_short" if short_lines(job) else None, str(refusal))
        return _page(request, job, form)
    messages.success(request, _("%(job)s is issued. Print the issue note and have it signed.") % {"job": job})
    return redirect("job", job.reference)
