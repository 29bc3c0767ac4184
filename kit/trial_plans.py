"""Trial plans: what people note down for themselves of what might be. They touch nothing, so the ledger tells of none.

Whoever made a plan changes it and throws it away; others who plan at its depot look at it and copy it.
"""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from kit.models import Depot, TrialPlan
from kit.planning.what_if import Change, from_data, to_data
from kit.stores import NotAllowed

MOST_CHANGES, MOST_PLANS, LONGEST_NAME = 60, 200, 80


def make(owner: User, depot: Depot, name: str, now: datetime, copied: TrialPlan | None = None) -> TrialPlan:
    """A new plan, empty or with the changes of another. Raises NotAllowed for a name that is taken or none."""
    name = " ".join(name.split())
    if not 1 <= len(name) <= LONGEST_NAME:
        raise NotAllowed(_("Give the plan a name of up to %(n)s characters.") % {"n": LONGEST_NAME})
    if TrialPlan.objects.filter(depot=depot).count() >= MOST_PLANS:
        raise NotAllowed(
            _("There are %(n)s trial plans at this depot: throw old ones away first.") % {"n": MOST_PLANS}
        )
    changes = list(copied.changes) if copied else []
    try:
        with transaction.atomic():
            return TrialPlan.objects.create(
                depot=depot, owner=owner, name=name, changes=changes, made_at=now, changed_at=now
            )
    except IntegrityError as error:
        raise NotAllowed(
            _("There is a trial plan %(name)s at %(depot)s already: give yours another name.")
            % {"name": name, "depot": depot}
        ) from error


def changes_of(plan: TrialPlan) -> list[Change]:
    """The changes of a plan, in order. Raises ValueError if what is kept is none that this version knows."""
    return [from_data(data) for data in plan.changes]


def add(plan: TrialPlan, change: Change, now: datetime) -> None:
    """One change more, at the end."""
    with transaction.atomic():
        kept = _locked(plan)
        if len(kept.changes) >= MOST_CHANGES:
            raise NotAllowed(
                _("A plan has at most %(n)s changes: take some out, or begin another.") % {"n": MOST_CHANGES}
            )
        _keep(plan, [*kept.changes, to_data(change)], now)


def take_out(plan: TrialPlan, place: int, data: object, now: datetime) -> None:
    """Take out the change at `place`, 0 the first, if it is still `data`: another window may have changed the plan."""
    with transaction.atomic():
        kept = _locked(plan)
        if not 0 <= place < len(kept.changes) or kept.changes[place] != data:
            raise NotAllowed(_("The plan has changed meanwhile: look again which change to take out."))
        _keep(plan, [*kept.changes[:place], *kept.changes[place + 1 :]], now)


def throw_away(plan: TrialPlan) -> None:
    TrialPlan.objects.filter(pk=plan.pk).delete()


def _locked(plan: TrialPlan) -> TrialPlan:
    kept = TrialPlan.objects.select_for_update().filter(pk=plan.pk).first()
    if kept is None:
        raise NotAllowed(_("This trial plan has been thrown away meanwhile."))
    return kept


def _keep(plan: TrialPlan, changes: list[object], now: datetime) -> None:
    TrialPlan.objects.filter(pk=plan.pk).update(changes=changes, changed_at=now)
    plan.changes = changes
