"""The counter: scan a tag or a job, or pick a job, and go on to issuing or taking back."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
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
            return _onward(found.only)
        context = {
            "found": found,
            "said": found.why or _("%(code)s names more than one thing.") % {"code": found.code},
        }
    today = request.desk.today
    depot = request.desk.depot
    context |= {
        "vans": vans(depot, today, LOADED_WITHIN_DAYS),
        "returns": returns(depot, today),
    }
    return render(request, "counter/page.html", context)


def _onward(named: Item | Job) -> HttpResponse:
    """A piece that is out is to be taken back; a job that is out likewise; else a job is to be issued."""
    if isinstance(named, Item):
        out = out_reservation(named)
        return redirect("take_back_piece", named.tag) if out else redirect("item", named.tag)
    if named.state == JobState.PLANNED:
        return redirect("issue", named.reference)
    if named.state == JobState.OUT:
        return redirect("take_back", named.reference)
    return redirect("job", named.reference)
