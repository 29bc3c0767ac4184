"""Views of a list: kept under a name, shared with the depot, made the usual one, thrown away."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kit import saved_views
from kit.models import SavedView
from kit.stores import NotAllowed
from kit.views.desk import at_desk
from kit.views.listing import Listing, listing_named


@require_POST
@at_desk()
def keep_view(request: HttpRequest, name: str) -> HttpResponse:
    """Keep the address sent along under a name."""
    listing = listing_named(request, name)
    query = saved_views.tidy_query(QueryDict(request.POST.get("query", "").replace("\x00", "")))
    shared = request.desk.depot if request.POST.get("share") else None
    try:
        view = saved_views.keep(
            request.user, listing.name, request.POST.get("name", "").replace("\x00", ""), query, shared
        )
    except NotAllowed as refusal:
        messages.error(request, str(refusal))
    else:
        if request.POST.get("usual"):
            saved_views.make_usual(request.user, view)
        messages.success(request, _("The view %(name)s is kept.") % {"name": view})
    return redirect(f"{listing.url}?{query}")


@require_POST
@at_desk()
def change_view(request: HttpRequest, name: str, number: int) -> HttpResponse:
    """Make a view the usual one or no longer, or throw one's own away."""
    listing = listing_named(request, name)
    view = _view(request, listing, number)
    do = request.POST.get("do")
    if do == "usual":
        saved_views.make_usual(request.user, view)
        messages.success(request, _("The list opens with %(name)s from now on.") % {"name": view})
    elif do == "no-usual":
        saved_views.no_usual(request.user, listing.name)
        messages.success(request, _("The list opens as it does for everybody."))
    elif do == "throw-away" and view.owner_id == request.user.pk:
        saved_views.throw_away(view)
        messages.success(request, _("The view %(name)s is thrown away.") % {"name": view})
    else:
        raise Http404(do)
    query = saved_views.tidy_query(QueryDict(request.POST.get("query", "").replace("\x00", "")))
    return redirect(f"{listing.url}?{query}")


def _view(request: HttpRequest, listing: Listing, number: int) -> SavedView:
    view = saved_views.in_sight(request.user, listing.name, request.desk.depots).filter(pk=number).first()
    if view is None:
        raise Http404(f"no view {number} in sight")
    return view
