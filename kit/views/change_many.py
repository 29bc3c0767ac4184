"""Many pieces changed at once: chosen on a list, shown what would come of it, one reason, one press, one act.

Nothing is written before the press, and then all that was shown or nothing. What is refused stays chosen.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.forms.change_many import WORDS, ChangeManyForm
from kit.forms.item import names_of_places
from kit.models import Item
from kit.stores import NotAllowed, acting
from kit.stores.change_many import ACTION_OF, MOST_PIECES, What, change_many, foresee_change
from kit.views.desk import at_desk
from kit.views.listing import Listing, listing_named

LEFT_KEY = "left_chosen"
MOST_SHOWN = 12


@at_desk()
def change_chosen(request: HttpRequest, name: str) -> HttpResponse:
    """From a list come `chosen` rows or `all` of it; from the page itself its `pieces` and what to `do`."""
    listing = listing_named(request, name)
    if listing.item_of is None:
        raise Http404(name)
    whats = may_do(request)
    if not whats:
        raise PermissionDenied(
            _("Your roles at this depot do not include this. Ask a compliance lead if they should.")
        )
    do = request.POST.get("do", "")
    pieces = chosen_pieces(request, listing)
    if not pieces:
        messages.error(request, _("No piece is chosen: tick the rows first."))
        return redirect(f"{listing.url}?{request.GET.urlencode()}")
    form = ChangeManyForm(request.POST if do in ("preview", "do") else None, whats=whats)
    page: dict[str, Any] = {}
    if form.is_bound and form.is_valid():
        try:
            if do == "do":
                return _done(request, listing, form, pieces)
            page["foretold"] = foresee_change(_who(request), pieces, form.change(), _barred(request, form))
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        except IntegrityError:
            form.add_error(None, _("Somebody else has just changed one of these pieces: look at them again."))
        else:
            page |= {"what": WORDS[form.change().what], "mark": page["foretold"].mark}
    items = Item.objects.filter(pk__in=pieces).order_by("tag")
    return render(
        request,
        "lists/change.html",
        {
            "listing": listing,
            "back_url": f"{listing.url}?{request.GET.urlencode()}",
            "form": form,
            "pieces": ",".join(map(str, pieces)),
            "number": len(pieces),
            "shown": items[:MOST_SHOWN],
            "more": max(0, len(pieces) - MOST_SHOWN),
            "most": MOST_PIECES if len(pieces) > MOST_PIECES else 0,
            "places": names_of_places(request.desk.depots),
            **page,
        },
    )


def may_do(request: HttpRequest) -> list[What]:
    """What the person may do to many pieces at one of their depots."""
    desk = request.desk
    return [what for what in What if any(desk.may(ACTION_OF[what], depot) for depot in desk.depots)]


def chosen_pieces(request: HttpRequest, listing: Listing) -> list[int]:
    """Ids of pieces in sight: those the page names, those ticked on the list, all of the list, or those left over."""
    sent = request.POST
    named: set[int] = set()
    if "pieces" in sent:
        named = {int(word) for word in sent["pieces"].split(",") if word.isascii() and word.isdigit()}
    elif "all" in sent and listing.item_of is not None:
        named = {listing.item_of(record) for record in listing.build(request, request.GET).records()}
    elif "chosen" in sent:
        # A row of the due list is named by its item and its check.
        words = [value.partition(" ")[0] for value in sent.getlist("chosen")]
        named = {int(word) for word in words if word.isascii() and word.isdigit()}
    elif request.method == "GET":
        named = set(request.session.pop(LEFT_KEY, []))
    own = [depot.pk for depot in request.desk.depots]
    known = Item.objects.filter(depot__in=own).values_list("pk", flat=True)
    # Too many to be changed are too many to ask the database for by name.
    listed = sorted(number for number in named if number < 2**63)
    return listed if len(listed) > MOST_PIECES else list(known.filter(pk__in=listed).order_by("pk"))


def _who(request: HttpRequest) -> Any:
    return request.desk.who("many pieces changed")


def _barred(request: HttpRequest, form: ChangeManyForm) -> Any:
    desk, action = request.desk, ACTION_OF[form.change().what]
    may_at = {depot.pk: desk.may(action, depot) for depot in desk.depots}

    def barred(item: Item) -> str:
        if may_at.get(item.depot_id):
            return ""
        return _("Your roles at %(depot)s do not include this. Ask a compliance lead if they should.") % {
            "depot": item.depot
        }

    return barred


def _done(request: HttpRequest, listing: Listing, form: ChangeManyForm, pieces: list[int]) -> HttpResponse:
    with acting(_who(request)) as act:
        done = change_many(act, pieces, form.change(), _barred(request, form), request.POST.get("mark", ""))
        if not done.changing:
            raise NotAllowed(_("There is nothing to change."))
    number = len(done.changing)
    said = ngettext("%(n)s piece is changed.", "%(n)s pieces are changed.", number) % {"n": number}
    messages.success(request, said)
    if done.breaks:
        jobs = ", ".join(sorted({job for job, _tag, _why in done.breaks}))
        messages.warning(request, _("Promises no longer hold for: %(jobs)s.") % {"jobs": jobs})
    if not done.refused:
        return redirect(f"{listing.url}?{request.GET.urlencode()}")
    left = len(done.refused)
    said = ngettext(
        "%(n)s piece was refused and stays chosen here.",
        "%(n)s pieces were refused and stay chosen here.",
        left,
    )
    messages.warning(request, said % {"n": left})
    request.session[LEFT_KEY] = [told.item_id for told in done.refused]
    return redirect(request.get_full_path())
