"""The counter: scan a tag or a job, or pick a job, and go on to issuing or taking back."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from kit.models import Custody, Item, Job, JobState, Reservation, Standing
from kit.stores import last_acts, out_reservation
from kit.tables.marks import mark_of
from kit.views.day_lists import returns, vans
from kit.views.desk import at_desk
from kit.views.found import scanned
from kit.views.item_acts import open_acts

LOADED_WITHIN_DAYS = 7


@at_desk("issue")
def counter(request: HttpRequest) -> HttpResponse:
    """A code given as ?code= leads straight on if it names one thing; else the page says why not, or asks."""
    context: dict[str, object] = {}
    if "code" in request.GET:
        found = scanned(request, request.GET["code"])
        promised = _promised(found.item)
        if promised and found.only is not None:
            return _page(request, {"code": found.code, **_may_be_done(request, found.items[0], promised)})
        if found.only is not None:
            return redirect(_onward(request, found.only))
        said = found.why or _("%(code)s names more than one thing.") % {"code": found.code}
        choices = [(_onward(request, one), one) for one in (*found.items, *found.jobs)]
        context = {"code": found.code, "said": said, "choices": choices}
    return _page(request, context)


def _page(request: HttpRequest, context: dict[str, object]) -> HttpResponse:
    depot, today = request.desk.depot, request.desk.today
    context |= {
        "vans": vans(depot, today, LOADED_WITHIN_DAYS),
        "returns": returns(depot, today),
        "last_acts": last_acts([depot]),
    }
    return render(request, "counter/page.html", context)


def _promised(item: Item | None) -> list[Reservation]:
    """What a piece in the store is promised for, or was, the soonest to load first."""
    if item is None or item.custody != Custody.STORE or out_reservation(item):
        return []
    rows = Reservation.objects.filter(item=item, standing__in=[Standing.PROMISED, Standing.BROKEN])
    rows = rows.filter(job__state__in=[JobState.PLANNED, JobState.OUT])
    return list(rows.select_related("job__depot", "line").order_by("starts", "job__reference"))


def _may_be_done(request: HttpRequest, item: Item, promised: list[Reservation]) -> dict[str, object]:
    """What may be done with a piece; the first of it has the focus, so that Enter does it."""
    own = [row for row in promised if request.desk.may("issue", row.job.depot)]
    return {
        "piece": item,
        "mark": mark_of(item, request.desk.today),
        "promised": own,
        "first": next((row for row in own if row.standing == Standing.PROMISED), None),
        "acts": open_acts(request, item),
    }


def _onward(request: HttpRequest, named: Item | Job) -> str:
    """A piece that is out is to be taken back; a job that is out likewise; a planned one is to be issued."""
    if isinstance(named, Item):
        return reverse("take_back_piece" if out_reservation(named) else "item", args=[named.tag])
    ways = {JobState.PLANNED: ("issue", "issue"), JobState.OUT: ("take back", "take_back")}
    action, way = ways.get(JobState(named.state), ("", ""))
    may = bool(action) and request.desk.may(action, named.depot)
    return reverse(way if may else "job", args=[named.reference])
