"""Make a consignment: scan what goes, see at once what it would break, send all of it with one press.

What is scanned is kept in the person's session, by depot and destination, so that it survives a reload.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from kit.forms.transfer import SendingForm
from kit.models import Depot, DepotLink, Item, Reservation, Standing
from kit.stores import ConsignmentRefused, Load, NotAllowed, acting, bars_of, fresh, send_all, usual_arrival
from kit.stores.consignment import MOST_PIECES
from kit.tables.marks import mark_of, short_day
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import LONGEST_CODE, scanned

SOURCE = "transfers screen"
KEY = "consignments"


class Draft:
    """What is scanned for one destination so far: item ids with the quantity of a lot, in the order of scanning."""

    def __init__(self, request: HttpRequest, to: Depot) -> None:
        self.session = request.session
        self.name = f"{request.desk.depot.pk}:{to.pk}"
        self.loads: list[list[int]] = self.session.get(KEY, {}).get(self.name, [])

    def keep(self) -> None:
        drafts = {**self.session.get(KEY, {}), self.name: self.loads}
        self.session[KEY] = {name: loads for name, loads in drafts.items() if loads}

    def has(self, item: Item) -> bool:
        return any(pk == item.pk for pk, _quantity in self.loads)

    def put(self, item: Item, quantity: int) -> None:
        self.take_out(item.pk)
        self.loads.append([item.pk, quantity])

    def take_out(self, pk: int) -> None:
        self.loads = [load for load in self.loads if load[0] != pk]

    def as_loads(self) -> list[Load]:
        items = Item.objects.select_related("kind", "depot", "transit_to").in_bulk(
            [pk for pk, _n in self.loads]
        )
        return [Load(items[pk], quantity) for pk, quantity in self.loads if pk in items]


def _destination(request: HttpRequest, code: str) -> Depot:
    to = Depot.objects.filter(code=code).exclude(pk=request.desk.depot.pk).first()
    if to is None:
        raise Http404(f"no other depot {code}")
    return to


@at_desk("transfer")
def new_transfer(request: HttpRequest) -> HttpResponse:
    """Choose where it goes; the usual days of each way stand beside it."""
    here = request.desk.depot
    days = dict(DepotLink.objects.filter(from_depot=here).values_list("to_depot", "lead_days"))
    depots = [(depot, days.get(depot.pk)) for depot in Depot.objects.exclude(pk=here.pk)]
    if len(depots) == 1:
        return redirect("send_transfer", depots[0][0].code)
    return render(request, "transfers/where.html", {"depots": depots, "here": here})


@at_desk("transfer")
def send_transfer(request: HttpRequest, code: str) -> HttpResponse:
    to = _destination(request, code)
    today = request.desk.today
    arrives_on = usual_arrival(request.desk.depot, to, today)
    form = SendingForm(initial={"arrives_on": arrives_on or today})
    return _page(request, to, Draft(request, to), form, {})


def _page(
    request: HttpRequest, to: Depot, draft: Draft, form: SendingForm, bars: dict[str, str]
) -> HttpResponse:
    offered = request.GET.get("code", "")[:LONGEST_CODE]
    context = {"form": form, "offered": offered, **_lists(request, to, draft, bars)}
    return render(request, "transfers/send.html", context)


def _lists(
    request: HttpRequest, to: Depot, draft: Draft, bars: dict[str, str] | None = None
) -> dict[str, Any]:
    """What is scanned, the latest first, each with what it is promised to and what bars it."""
    loads = draft.as_loads()
    promises = _promises([load.item for load in loads])
    bars = bars_of(loads, request.desk.depot, to) if bars is None else bars
    rows = [
        {
            "number": number,
            "item": load.item,
            "quantity": load.quantity,
            "mark": mark_of(load.item, request.desk.today),
            "promises": [] if load.item.counted else promises.get(load.item.pk, []),
            "promised": sum(row.quantity for row in promises.get(load.item.pk, []) if load.item.counted),
            "bar": bars.get(load.item.tag, ""),
        }
        for number, load in enumerate(loads, 1)
    ]
    usual = usual_arrival(request.desk.depot, to, request.desk.today)
    return {"to": to, "here": request.desk.depot, "rows": rows[::-1], "count": len(rows), "usual": usual}


def _promises(items: list[Item]) -> dict[int, list[Reservation]]:
    """What is promised of them here: a transfer takes it away, unless it is there in time for a job there."""
    found: dict[int, list[Reservation]] = {}
    rows = Reservation.objects.filter(item__in=items, standing=Standing.PROMISED).select_related("job")
    for row in rows.order_by("starts"):
        found.setdefault(row.item_id, []).append(row)
    return found


@require_POST
@at_desk("transfer")
def transfer_scan(request: HttpRequest, code: str) -> HttpResponse:
    """One scanned piece joins the list, or is refused with why; `out` takes one out, `quantity` sets a lot's."""
    to = _destination(request, code)
    draft = Draft(request, to)
    if "out" in request.POST or "quantity" in request.POST:
        kind, said = _change(request, draft)
    else:
        kind, said = _scan(request, to, draft)
    draft.keep()
    if not request.htmx:
        {"refused": messages.error, "caution": messages.warning}.get(kind, messages.success)(request, said)
        return redirect("send_transfer", to.code)
    answer = {"kind": kind, "said": said, "code": request.POST.get("code", "")[:LONGEST_CODE]}
    return render(request, "transfers/send_answer.html", {**answer, **_lists(request, to, draft)})


def _scan(request: HttpRequest, to: Depot, draft: Draft) -> tuple[str, str]:
    found = scanned(request, request.POST.get("code", ""), jobs=False)
    item = found.item
    if item is None:
        return "refused", found.refusal
    if draft.has(item):
        return "refused", _("%(tag)s is in the list already; scanned twice, taken once.") % {"tag": item.tag}
    if len(draft.loads) >= MOST_PIECES:
        return "refused", _("The list has %(n)s pieces, which is the most: send it, then scan %(tag)s.") % {
            "n": MOST_PIECES,
            "tag": item.tag,
        }
    item = fresh(item)
    # A set is scanned piece by piece: what is still wanted of it bars the sending, not the scan.
    alone = item.set_name == ""
    if bar := bars_of([Load(item)], request.desk.depot, to).get(item.tag) if alone else "":
        return "refused", bar
    draft.put(item, item.quantity if item.counted else 1)
    told = {"tag": item.tag, "kind": item.kind, "n": len(draft.loads)}
    promised = _promises([item]).get(item.pk, [])
    if promised and not item.counted:
        jobs = ", ".join(f"{row.job} ({short_day(row.job.load_on)})" for row in promised)
        said = _(
            "%(tag)s goes with it, though it is promised: %(jobs)s. Sending it breaks what it cannot reach."
        )
        return "caution", said % {**told, "jobs": jobs}
    if item.counted:
        said = _("%(tag)s goes with it, all %(quantity)s of it. Set the number in the list if fewer go.")
        return "done", said % {**told, "quantity": item.quantity}
    return "done", _("%(tag)s, a %(kind)s, goes with it: %(n)s in the list.") % told


def _change(request: HttpRequest, draft: Draft) -> tuple[str, str]:
    number = request.POST.get("item", "")
    item = Item.objects.filter(pk=int(number)).first() if number.isdecimal() else None
    if item is None or not draft.has(item):
        return "refused", _("That piece is no longer in the list.")
    if "out" in request.POST:
        draft.take_out(item.pk)
        return "done", _("%(tag)s is taken out of the list.") % {"tag": item.tag}
    typed = request.POST["quantity"].strip()
    if not typed.isdecimal() or not 1 <= int(typed) <= item.quantity:
        return "refused", _("%(tag)s holds %(n)s here: give a number from 1 to %(n)s.") % {
            "tag": item.tag,
            "n": item.quantity,
        }
    draft.loads = [[pk, int(typed) if pk == item.pk else n] for pk, n in draft.loads]
    return "done", _("%(n)s of %(tag)s go with it.") % {"n": typed, "tag": item.tag}


@require_POST
@at_desk("transfer")
def transfer_send(request: HttpRequest, code: str) -> HttpResponse:
    """All of it in one act, or nothing; what bars is named at its piece, and what was typed stays."""
    to = _destination(request, code)
    draft = Draft(request, to)
    form = SendingForm(request.POST)
    bars: dict[str, str] | None = None
    if form.is_valid():
        asked = form.cleaned_data
        before = broken_now()
        try:
            with acting(request.desk.who(SOURCE)) as act:
                made = send_all(
                    act,
                    draft.as_loads(),
                    to,
                    asked["arrives_on"],
                    asked["carrier"],
                    asked["note"],
                    asked["sent_on"],
                )
        except ConsignmentRefused as refusal:
            bars = refusal.bars
            form.add_error(None, _("Nothing is sent: see what stands at the pieces."))
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            n = len(draft.loads)
            draft.loads = []
            draft.keep()
            said = ngettext(
                "%(note)s is on its way to %(to)s with %(n)s piece. Print its note: it goes with the van.",
                "%(note)s is on its way to %(to)s with %(n)s pieces and lots. Print its note: it goes with the van.",
                n,
            )
            messages.success(request, said % {"note": made, "to": to, "n": n})
            say_what_broke(request, before)
            return redirect("transfer", made.number)
    return _page(request, to, draft, form, bars or {})


@require_POST
@at_desk("transfer")
def transfer_empty(request: HttpRequest, code: str) -> HttpResponse:
    to = _destination(request, code)
    draft = Draft(request, to)
    draft.loads = []
    draft.keep()
    messages.info(request, _("The list is emptied. Nothing was sent."))
    return redirect(reverse("send_transfer", args=[to.code]))
