"""Sign for what a consignment brought: by scanner piece by piece, all at once, or one piece with what is to be said."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from kit.forms.transfer import LineForm
from kit.models import Arrival, Transfer, TransferLine
from kit.stores import NotAllowed, acting, bring_back, line_for, note_missing, sign_for, sign_for_all
from kit.tables.marks import mark_of
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import LONGEST_CODE, must, scanned
from kit.views.transfers import outcome_of
from kit.views.transfers_found import transfer_in_sight, transfer_scanned

SOURCE = "arrival screen"


@at_desk()
def transfer_arrive(request: HttpRequest, number: int) -> HttpResponse:
    shown = transfer_in_sight(request, number)
    must(request, "transfer", shown.to_depot)
    yours = shown.sent_by == request.desk.who(SOURCE).actor
    return render(request, "transfers/arrive.html", {"yours": yours, **_lists(shown)})


def _lists(shown: Transfer) -> dict[str, Any]:
    lines = shown.lines.select_related("item__kind").order_by("item__tag")
    awaited = [line for line in lines if line.outcome == Arrival.ON_THE_WAY]
    signed = [(line, outcome_of(line)) for line in lines if line.outcome != Arrival.ON_THE_WAY]
    return {"transfer": shown, "awaited": awaited, "signed": signed, "all": len(awaited) + len(signed)}


@require_POST
@at_desk()
def transfer_sign(request: HttpRequest, number: int) -> HttpResponse:
    """One scanned piece: signed for, or refused with why. A lot is counted first."""
    shown = transfer_in_sight(request, number)
    must(request, "transfer", shown.to_depot)
    code = request.POST.get("code", "")
    found = scanned(request, code, jobs=False)
    if found.item is None:
        return _answer(request, shown, "refused", found.why or _not_one(request, shown, found.items))
    try:
        line = line_for(shown, found.item)
        if line.item.counted and line.outcome in (Arrival.ON_THE_WAY, Arrival.MISSING):
            return _ask_count(request, shown, line)
        with acting(request.desk.who(SOURCE)) as act:
            sign_for(act, line)
    except NotAllowed as refusal:
        return _answer(request, shown, "refused", str(refusal))
    left = shown.lines.filter(outcome=Arrival.ON_THE_WAY).count()
    said = ngettext("%(tag)s is here: %(n)s still to come.", "%(tag)s is here: %(n)s still to come.", left)
    if not left:
        said = _("%(tag)s is here. All of %(note)s is signed for.")
    return _answer(request, shown, "done", said % {"tag": line.item.tag, "n": left, "note": shown})


def _not_one(request: HttpRequest, shown: Transfer, items: Any) -> str:
    tags = ", ".join(item.tag for item in items)
    return _("That may be any of %(tags)s. Scan the tag itself, or type it exactly as the label has it.") % {
        "tags": tags
    }


def _ask_count(request: HttpRequest, shown: Transfer, line: TransferLine) -> HttpResponse:
    if not request.htmx:
        return redirect("transfer_line", shown.number, line.pk)
    said = _("%(n)s of %(tag)s were sent. Count them, then sign.") % {
        "n": line.quantity,
        "tag": line.item.tag,
    }
    return _answer(request, shown, "caution", said, line)


def _answer(
    request: HttpRequest, shown: Transfer, kind: str, said: str, counting: TransferLine | None = None
) -> HttpResponse:
    if not request.htmx:
        (messages.error if kind == "refused" else messages.success)(request, said)
        return redirect("transfer_arrive", shown.number)
    code = request.POST.get("code", "")[:LONGEST_CODE]
    # A note scanned by mistake while another consignment is open: lead on to it.
    other, _why = transfer_scanned(request, code) if kind == "refused" else (None, "")
    context = {"kind": kind, "said": said, "code": code, "counting": counting}
    if other is not None and other.pk != shown.pk:
        context["other"] = other
    return render(request, "transfers/arrive_answer.html", {**context, **_lists(shown)})


@require_POST
@at_desk()
def transfer_sign_all(request: HttpRequest, number: int) -> HttpResponse:
    """All that is still on the way is here, in full: one signature."""
    shown = transfer_in_sight(request, number)
    must(request, "transfer", shown.to_depot)
    try:
        with acting(request.desk.who(SOURCE)) as act:
            made = sign_for_all(act, shown)
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
        return redirect("transfer_arrive", shown.number)
    said = ngettext(
        "%(n)s piece of %(note)s is signed for.",
        "%(n)s pieces and lots of %(note)s are signed for.",
        len(made),
    )
    messages.success(request, said % {"n": len(made), "note": shown})
    return redirect("transfer", shown.number)


@at_desk()
def transfer_line(request: HttpRequest, number: int, line: int) -> HttpResponse:
    """One piece: here (a lot counted), not in the consignment, or back at the depot that sent it."""
    shown = transfer_in_sight(request, number)
    one = shown.lines.select_related("item__kind", "item__transit_to", "item__depot").filter(pk=line).first()
    if one is None:
        raise Http404(f"no line {line} in {shown}")
    if not request.desk.may("transfer", shown.from_depot):
        must(request, "transfer", shown.to_depot)
    data = request.POST if request.method == "POST" else None
    form = LineForm(data, line=one)
    if data is not None and form.is_valid() and _done(request, shown, one, form):
        closed = not shown.lines.filter(outcome=Arrival.ON_THE_WAY).exists()
        here = request.desk.may("transfer", shown.to_depot) and not closed
        return redirect("transfer_arrive" if here else "transfer", shown.number)
    context = {
        "transfer": shown,
        "line": one,
        "item": one.item,
        "form": form,
        "mark": mark_of(one.item, request.desk.today),
        "outcome": outcome_of(one),
        "open": one.outcome in (Arrival.ON_THE_WAY, Arrival.MISSING),
        "at_destination": request.desk.may("transfer", shown.to_depot),
        "at_origin": request.desk.may("transfer", shown.from_depot),
    }
    return render(request, "transfers/line.html", context)


def _done(request: HttpRequest, shown: Transfer, one: TransferLine, form: LineForm) -> bool:
    """What the pressed button says of the piece; False with why at the form."""
    asked, what = form.cleaned_data, request.POST.get("outcome", "")
    day = None if asked["on"] == request.desk.today else asked["on"]
    said = {
        Arrival.ARRIVED: _("%(tag)s is here."),
        Arrival.MISSING: _("%(tag)s is noted as missing from %(note)s, and as lost until it is found."),
        Arrival.BACK: _("%(tag)s is back at %(depot)s."),
    }
    if what not in said:
        form.add_error(None, _("Say what became of it: press one of the buttons."))
        return False
    must(request, "transfer", shown.from_depot if what == Arrival.BACK else shown.to_depot)
    before = broken_now()
    try:
        with acting(request.desk.who(SOURCE)) as act:
            if what == Arrival.ARRIVED:
                sign_for(act, one, asked.get("quantity"), day, asked["note"])
            elif what == Arrival.MISSING:
                note_missing(act, one, asked["note"])
            else:
                bring_back(act, one, asked["note"], day)
    except NotAllowed as refusal:
        form.add_error(None, str(refusal))
        return False
    told = {"tag": one.item.tag, "note": shown, "depot": shown.from_depot}
    messages.success(request, said[Arrival(what)] % told)
    say_what_broke(request, before)
    return True
