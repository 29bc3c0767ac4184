"""One entry of the ledger on a page of its own: what it tells, what it wrote, and whether its mark is still right."""

from __future__ import annotations

import json
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from kit.links import item_link, job_link, linked
from kit.models import Job, LedgerEntry
from kit.stores.act import GENESIS, entry_hash
from kit.views.desk import at_desk
from kit.views.found import items_in_sight
from kit.views.story import told

MOST_ABOUT = 40
# Settings are the same for all depots, and each may read them.
OF_ALL = ("kind", "arrangement", "main", "labelpaper")


@require_safe
@at_desk()
def entry(request: HttpRequest, number: int) -> HttpResponse:
    """Shown to whoever reads the ledger, to whoever sees a piece, a job or a depot that it is about, and to everybody
    if it is about a setting."""
    shown = LedgerEntry.objects.prefetch_related("corrections").filter(number=number).first()
    if shown is None:
        raise Http404(f"no entry {number}")
    body = json.loads(shown.body)
    seen = _in_sight(request, body["about"])
    if not seen and not request.desk.may("prove"):
        raise Http404(f"entry {number} is about nothing in sight")
    return render(
        request,
        "ledger/entry.html",
        {
            "entry": shown,
            "told": told([shown]),
            "about": [_named(name, seen) for name in body["about"][:MOST_ABOUT]],
            "about_left_out": max(0, len(body["about"]) - MOST_ABOUT),
            "fault": fault_of(shown),
            "marks": [
                (_("Number"), shown.number),
                (_("Its mark (SHA-256)"), shown.hash),
                (_("Mark of the entry before it"), _before(shown)),
            ],
            "corrects": shown.corrects_id,
            "corrected_by": [one.number for one in shown.corrections.all()],
            "body": json.dumps(body, ensure_ascii=False, indent=1),
        },
    )


def fault_of(shown: LedgerEntry) -> str:
    """What is wrong with this one entry, in a sentence; empty if it is what was chained. The whole chain has its own
    proof."""
    if entry_hash(shown) != shown.hash:
        return _("The mark of this entry is not that of its text: one of the two was altered.")
    before = LedgerEntry.objects.filter(number=shown.number - 1).values_list("hash", flat=True).first()
    if shown.previous_hash != (before or GENESIS):
        return _("This entry does not follow on the one before it: one of the two was altered.")
    return ""


def _before(shown: LedgerEntry) -> object:
    if shown.number == 1:
        return _("none: it is the first")
    return linked(reverse("entry", args=[shown.number - 1]), shown.previous_hash)


def _in_sight(request: HttpRequest, about: list[str]) -> dict[str, SafeString]:
    """Of what an entry is about the pieces, jobs and depots that the person sees, each as a link or a name."""
    names: dict[str, list[str]] = {}
    for each in about:
        what, _colon, name = each.partition(":")
        names.setdefault(what, []).append(name)
    own = request.desk.depots
    tags = items_in_sight(request).filter(tag__in=names.get("item", ())[:MOST_ABOUT])
    jobs = Job.objects.filter(depot__in=own, reference__in=names.get("job", ())[:MOST_ABOUT])
    seen = {f"item:{tag}": item_link(tag) for tag in tags.values_list("tag", flat=True)}
    seen |= {f"job:{ref}": job_link(ref) for ref in jobs.values_list("reference", flat=True)}
    at = [depot for depot in own if depot.code in names.get("depot", ())]
    seen |= {f"depot:{depot.code}": format_html("{}", depot) for depot in at}
    return seen | {
        f"{what}:{name}": format_html("{}", name) for what in OF_ALL for name in names.get(what, ())
    }


def _named(name: str, seen: dict[str, SafeString]) -> Any:
    """An item or job as a link if it is in sight; else as the ledger names it."""
    return seen.get(name) or name.partition(":")[2] or name
