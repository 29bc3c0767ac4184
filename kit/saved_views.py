"""Views of lists that people keep for themselves, or share with a depot. They touch nothing of the register.

Whoever made a view changes it and throws it away; others at the depot it is shared with use it, also as their usual.
"""

from __future__ import annotations

from collections.abc import Collection

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Q, QuerySet
from django.http import QueryDict
from django.utils.translation import gettext as _

from kit.models import Depot, SavedView, UsualView
from kit.stores import NotAllowed

LONGEST_NAME, LONGEST_QUERY, MOST_VIEWS = 60, 2000, 50
NEVER_KEPT = ("page", "csrfmiddlewaretoken")


def tidy_query(query: QueryDict) -> str:
    """What of an address makes a view: all but which page of it was open."""
    kept = query.copy()
    for name in NEVER_KEPT:
        kept.pop(name, None)
    return kept.urlencode()


def in_sight(user: User, listing: str, depots: Collection[Depot]) -> QuerySet[SavedView]:
    """The views of a list that a person may open: their own, and those shared with a depot of theirs."""
    return SavedView.objects.filter(
        Q(owner=user) | Q(shared_with__in=[depot.pk for depot in depots]), listing=listing
    ).order_by("name", "pk")


def usual_view(user: User, listing: str, depots: Collection[Depot]) -> SavedView | None:
    """The view with which the list opens; a view that is no longer shared with the person counts as none."""
    return in_sight(user, listing, depots).filter(usual_for__user=user, usual_for__listing=listing).first()


def keep(owner: User, listing: str, name: str, query: str, shared_with: Depot | None) -> SavedView:
    """Keep a view under this name; one of the same name and owner becomes this one. Raises NotAllowed."""
    name = " ".join(name.split())
    if not 1 <= len(name) <= LONGEST_NAME:
        raise NotAllowed(_("Give the view a name of up to %(n)s characters.") % {"n": LONGEST_NAME})
    if len(query) > LONGEST_QUERY:
        raise NotAllowed(_("This view has too many words in its filters to be kept: narrow it by fewer."))
    with transaction.atomic():
        own = SavedView.objects.filter(owner=owner, listing=listing)
        if own.count() >= MOST_VIEWS and not own.filter(name=name).exists():
            raise NotAllowed(
                _("You keep %(n)s views of this list: throw old ones away first.") % {"n": MOST_VIEWS}
            )
        view, _made = SavedView.objects.update_or_create(
            owner=owner, listing=listing, name=name, defaults={"query": query, "shared_with": shared_with}
        )
    return view


def make_usual(user: User, view: SavedView) -> None:
    """From now on the list opens with this view for this person."""
    UsualView.objects.update_or_create(user=user, listing=view.listing, defaults={"view": view})


def no_usual(user: User, listing: str) -> None:
    """The list opens as it does for everybody."""
    UsualView.objects.filter(user=user, listing=listing).delete()


def throw_away(view: SavedView) -> None:
    SavedView.objects.filter(pk=view.pk).delete()
