"""What would make a job whole, as its page shows it: each change with the press or the link that does it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.models import Item, Job, State
from kit.planning.refusal import Change, Refusal, change_text, purchase_text
from kit.ports import ports
from kit.sentences import said


@dataclass(frozen=True, slots=True)
class Step:
    """One change: its sentence and how it is done from here. `post`: hidden fields, if it is a press and no link."""

    text: str
    url: str = ""
    label: str = ""
    icon: str = "next"
    post: tuple[tuple[str, str], ...] = ()
    note: str = ""
    about: str = ""


def shown_ways(request: HttpRequest, job: Job, refusal: Refusal) -> dict[str, Any]:
    """The panel of a job that is short."""
    whole = refusal.whole
    tags = [change.tag for change in whole.changes if change.what != "move"]
    items = Item.objects.select_related("kind", "depot").in_bulk(tags, field_name="tag")
    jobs = {
        each.reference: each
        for each in Job.objects.select_related("depot").filter(
            reference__in=[change.tag for change in whole.changes if change.what == "move"]
        )
    }
    steps = [_step(request, job, change, items, jobs) for change in whole.changes]
    bought = [_sentence(_("ask for %(what)s") % {"what": said(purchase_text(each))}) for each in whole.buy]
    return {
        "enter": whole.enter,
        "steps": steps,
        "buy": bought,
        "instead": [said(purchase_text(each)) for each in whole.instead] if whole.changes else [],
        "count": whole.count,
        "title": ngettext("%(n)s change", "%(n)s changes", whole.count) % {"n": whole.count},
        "proven": whole.proven,
        "soonest": refusal.soonest,
        "move_url": _move_url(job, job, refusal) if request.desk.may("plan", job.depot) else "",
    }


def _move_url(job: Job, moved: Job, refusal: Refusal) -> str:
    if refusal.soonest is None:
        return ""
    return _move(moved, refusal.soonest, refusal.soonest + (job.return_on - job.load_on), job)


def _move(moved: Job, load_on: Any, return_on: Any, back_to: Job) -> str:
    query = {
        "load_on": load_on.isoformat(),
        "return_on": return_on.isoformat(),
        "next": reverse("job", args=[back_to.reference]),
    }
    return f"{reverse('move_job', args=[moved.reference])}?{urlencode(query)}"


def _step(
    request: HttpRequest, job: Job, change: Change, items: dict[str, Item], jobs: dict[str, Job]
) -> Step:
    text = _sentence(change_text(change))
    may = request.desk.may
    if change.what == "move":
        other = jobs[change.tag]
        if not may("plan", other.depot):
            return Step(text, note=_("Ask the planner of %(depot)s.") % {"depot": other.depot})
        url = _move(other, change.load_on, change.return_on, job)
        return Step(text, url, _("See what gives"), "plan", about=change.tag)
    item = items[change.tag]
    if change.what == "inspect":
        if not may("inspect", item.depot):
            return Step(text, note=_("Ask the examiner of %(depot)s.") % {"depot": item.depot})
        return Step(text, reverse("record", args=[item.tag]), _("To the bench"), "bench", about=item.tag)
    if change.what == "release":
        number = ports.case_of(item) if item.state == State.QUARANTINED else ""
        if number:
            return Step(text, reverse("case", args=[number]), _("Its case"), "quarantine", about=item.tag)
    if change.what == "bring":
        return _bring(request, job, item, text)
    return Step(text, reverse("item", args=[item.tag]), _("Look at it"), "next", about=item.tag)


def _bring(request: HttpRequest, job: Job, item: Item, text: str) -> Step:
    """Onto the list of what goes to this depot; who sits elsewhere sits down there first."""
    if not request.desk.may("transfer", item.depot):
        return Step(text, note=_("Ask %(depot)s to send it.") % {"depot": item.depot})
    if request.desk.depot.pk == item.depot_id:
        url = reverse("transfer_scan", args=[job.depot.code])
        return Step(text, url, _("Onto the list"), "transfer", (("code", item.tag),), about=item.tag)
    send = f"{reverse('send_transfer', args=[job.depot.code])}?{urlencode({'code': item.tag})}"
    label = _("Send from %(depot)s") % {"depot": item.depot}
    post = (("depot", item.depot.code), ("next", send))
    return Step(text, reverse("switch_depot"), label, "transfer", post, about=item.tag)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."
