"""Ways between depots, and what a depot's bench does in a day: settings that plans count on."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from kit.forms.transfer import BenchForm, WayForm
from kit.models import Depot, DepotLink
from kit.stores import NotAllowed, acting, set_bench, set_link, withdraw_link
from kit.views.desk import at_desk
from kit.views.found import must

SCREEN = "settings screen"


@at_desk()
def ways(request: HttpRequest) -> HttpResponse:
    """Each way from the depot one sits at and to it; the bench of that depot."""
    here = request.desk.depot
    others = list(Depot.objects.exclude(pk=here.pk))
    days = {(link.from_depot_id, link.to_depot_id): link.lead_days for link in DepotLink.objects.all()}
    pairs = [pair for other in others for pair in ((here, other), (other, here))]
    forms = {(leaves.pk, to.pk): _form(leaves, to, days) for leaves, to in pairs}
    bench = BenchForm(initial={"bench_a_day": here.bench_a_day}, auto_id="bench_%s")
    if request.method == "POST":
        must(request, "set ways", here)
        if request.POST.get("what") == "bench":
            bench = BenchForm(request.POST, auto_id="bench_%s")
            if bench.is_valid() and _set_bench(request, here, bench):
                return redirect("ways")
        else:
            leaves, to = _pair(request, pairs)
            form = WayForm(request.POST, auto_id=f"way_{leaves.pk}_{to.pk}_%s")
            forms[leaves.pk, to.pk] = form
            if form.is_valid() and _set_way(request, leaves, to, form):
                return redirect("ways")
    rows = [(leaves, to, days.get((leaves.pk, to.pk)), forms[leaves.pk, to.pk]) for leaves, to in pairs]
    context = {"rows": rows, "bench": bench, "here": here, "may_set": request.desk.may("set ways")}
    return render(request, "transfers/ways.html", context)


def _form(leaves: Depot, to: Depot, days: dict[tuple[int, int], int]) -> WayForm:
    return WayForm(initial={"lead_days": days.get((leaves.pk, to.pk))}, auto_id=f"way_{leaves.pk}_{to.pk}_%s")


def _pair(request: HttpRequest, pairs: list[tuple[Depot, Depot]]) -> tuple[Depot, Depot]:
    asked = (request.POST.get("from"), request.POST.get("to"))
    for leaves, to in pairs:
        if asked == (leaves.code, to.code):
            return leaves, to
    raise Http404("no such pair of depots")


def _set_way(request: HttpRequest, leaves: Depot, to: Depot, form: WayForm) -> bool:
    days = form.cleaned_data["lead_days"]
    told = {"from": leaves, "to": to, "n": days}
    try:
        with acting(request.desk.who(SCREEN)) as act:
            if days is None:
                withdraw_link(act, leaves, to, form.cleaned_data["why"])
                said = _("No plan counts on the way from %(from)s to %(to)s any more.")
            elif set_link(act, leaves, to, days):
                said = _("From %(from)s to %(to)s takes %(n)s days: recorded.")
            else:
                said = _("Nothing differs from what was recorded.")
    except NotAllowed as refusal:
        form.add_error("why" if days is None else "lead_days", str(refusal))
        return False
    messages.success(request, said % told)
    return True


def _set_bench(request: HttpRequest, depot: Depot, form: BenchForm) -> bool:
    try:
        with acting(request.desk.who(SCREEN)) as act:
            changed = set_bench(act, depot, form.cleaned_data["bench_a_day"])
    except NotAllowed as refusal:
        form.add_error("bench_a_day", str(refusal))
        return False
    said = (
        _("The bench of %(depot)s is recorded.") if changed else _("Nothing differs from what was recorded.")
    )
    messages.success(request, said % {"depot": depot})
    return True
