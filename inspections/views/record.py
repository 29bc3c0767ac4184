"""Record an inspection of an item, and what its page shows of its checks."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from inspections.actions import Finding, record
from inspections.bench import checks_asked
from inspections.forms.findings import RecordForm
from inspections.models import Check, Verdict
from inspections.views.ways import record_url
from kit.models import Item, State
from kit.stores import NotAllowed, acting, fresh
from kit.tables.marks import mark_of
from kit.views.broke import broken_now, say_what_broke
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must


@at_desk()
def record_inspection(request: HttpRequest, tag: str) -> HttpResponse:
    """One finding. What was typed stays if it is refused; a fail sets the item aside at once."""
    item = item_in_sight(request, tag)
    must(request, "inspect", item.depot)
    sent = request.POST if request.method == "POST" else None
    own = _own_screen(request, item)
    if sent is None and own:
        return redirect(own)
    form = RecordForm(sent, item=item, check=request.GET.get("check", ""))
    if sent is not None and form.is_valid():
        asked = form.cleaned_data
        finding = Finding(
            item,
            asked["check_done"],
            asked["done_on"],
            asked["verdict"],
            by=asked["by"],
            certificate=asked["certificate"],
            note=asked["note"],
        )
        before = broken_now()
        try:
            with acting(request.desk.who("bench screen")) as act:
                record(act, finding)
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            _tell(request, item, asked)
            say_what_broke(request, before)
            return redirect("item", item.tag)
    return render(
        request,
        "record/page.html",
        {
            "item": item,
            "mark": mark_of(item, request.desk.today),
            "form": form,
            "no_checks": not Check.objects.in_force().filter(kind=item.kind_id).exists(),
        },
    )


def _own_screen(request: HttpRequest, item: Item) -> str:
    """The screen of the check in the address, or of the only one, if it has readings; empty for a plain verdict.

    ?plain= asks for the plain one all the same: there may be only a certificate.
    """
    if "plain" in request.GET:
        return ""
    asked = checks_asked(item)
    wanted = request.GET.get("check", "")
    check = next((one for one in asked if one.name == wanted), asked[0] if len(asked) == 1 else None)
    url = record_url(item, check) if check is not None else ""
    return "" if url.startswith(reverse("record", args=[item.tag])) else url


def _tell(request: HttpRequest, item: Any, asked: dict[str, Any]) -> None:
    verdict = str(Verdict(asked["verdict"]).label).lower()
    said = _("%(check)s of %(tag)s is recorded: %(verdict)s.") % {
        "check": capfirst(asked["check_done"].name),
        "tag": item.tag,
        "verdict": verdict,
    }
    if item.state == State.AVAILABLE and fresh(item).state == State.QUARANTINED:
        messages.warning(
            request, f"{said} " + _("%(tag)s is set aside. Tie a defect tag to it.") % {"tag": item.tag}
        )
    else:
        messages.success(request, said)
