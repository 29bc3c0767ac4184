"""The counter: scan a tag or a job, or pick a job, and go on to issuing or taking back."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from kit.models import Item, Job, JobState
from kit.stores import out_reservation
from kit.views.day_lists import returns, vans
from kit.views.desk import at_desk
from kit.views.found import scanned

LOADED_WITHIN_DAYS = 7


@at_desk("issue")
def counter(request: HttpRequest) -> HttpResponse:
    """A code given as ?code= leads straight on if it names one thing; else the page says why not, or asks."""
    context: dict[str, object] = {}
    if "code" in request.GET:
        found = scanned(request, request.GET["code"])
        if found.only is not None:
            return redirect(_onward(request, found.only))
        said = found.why or _("%(code)s names more than one thing.") % {"code": found.code}
        choices = [(_onward(request, one), one) for one in (*found.items, *found.jobs)]
        context = {"code": found.code, "said": said, "choices": choices}
    depot, today = request.desk.depot, request.desk.today
    context |= {"vans": vans(depot, today, LOADED_WITHIN_DAYS), "returns": returns(depot, today)}
    return render(request, "counter/page.html", context)


def _onward(request: HttpRequest, named: Item | Job) -> str:
    """A piece that is out is to be taken back; a job that is out likewise; a planned one is to be issued."""
    if isinstance(named, Item):
        return reverse("take_back_piece" if out_reservation(named) else "item", args=[named.tag])
    ways = {JobState.PLANNED: ("issue", "issue"), JobState.OUT: ("take back", "take_back")}
    action, way = ways.get(JobState(named.state), ("", ""))
    may = bool(action) and request.desk.may(action, named.depot)
    return reverse(way if may else "job", args=[named.reference])
