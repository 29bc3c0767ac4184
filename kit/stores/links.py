"""Ways between depots that a plan may count on, and how many inspections a day a depot's bench does."""

from __future__ import annotations

from datetime import date, timedelta

from kit.models import Deed, Depot, DepotLink
from kit.stores.act import Act, NotAllowed

MOST_LEAD_DAYS = 60
MOST_A_DAY = 1000


def set_link(act: Act, leaves: Depot, to: Depot, lead_days: int) -> bool:
    """A transfer from one depot to the other takes so many days (0: there the same day); True if that is new."""
    if leaves.pk == to.pk:
        raise NotAllowed(f"A way leads from one depot to another: {leaves} to {to} is none.")
    if not 0 <= lead_days <= MOST_LEAD_DAYS:
        raise NotAllowed(
            f"{lead_days} days from {leaves} to {to}: give a whole number from 0 to {MOST_LEAD_DAYS}."
        )
    link = DepotLink.ever.filter(from_depot=leaves, to_depot=to).first()
    before = None if link is None or link.withdrawn else link.lead_days
    if link is None:
        act.create(DepotLink(from_depot=leaves, to_depot=to, lead_days=lead_days))
    elif not act.change(link, lead_days=lead_days, withdrawn=False):
        return False
    act.tell(Deed.LINKED, [leaves, to], facts={"lead_days": lead_days, "before": before})
    return True


def withdraw_link(act: Act, leaves: Depot, to: Depot, why: str) -> None:
    """No plan counts on that way any more."""
    link = DepotLink.objects.filter(from_depot=leaves, to_depot=to).first()
    if link is None:
        raise NotAllowed(f"No way from {leaves} to {to} is recorded, so there is none to withdraw.")
    if not why.strip():
        raise NotAllowed(f"Say why the way from {leaves} to {to} is withdrawn.")
    act.change(link, withdrawn=True)
    act.tell(Deed.LINKED, [leaves, to], note=f"withdrawn: {why.strip()}")


def set_bench(act: Act, depot: Depot, bench_a_day: int) -> bool:
    """A plan may count on so many inspections a day at that depot; True if that is new."""
    if not 0 <= bench_a_day <= MOST_A_DAY:
        raise NotAllowed(f"{bench_a_day} inspections a day at {depot}: give a number from 0 to {MOST_A_DAY}.")
    before = Depot.objects.values_list("bench_a_day", flat=True).get(pk=depot.pk)
    depot.bench_a_day = before
    if not act.change(depot, bench_a_day=bench_a_day):
        return False
    act.tell(Deed.CHANGED, [depot], facts={"bench_a_day": bench_a_day, "before": before})
    return True


def name_depot(act: Act, depot: Depot, name: str) -> bool:
    """The depot's name as people say it; its code stays. True if that is new."""
    if not act.change(depot, name=name.strip()[:120]):
        return False
    act.tell(Deed.CHANGED, [depot], note=f"depot {depot.code} is called {depot.name or depot.code}")
    return True


def usual_arrival(leaves: Depot | int, to: Depot | int, sent_on: date) -> date | None:
    """When what is sent on that day is there, by the way between the two; None if none is recorded."""
    days = (
        DepotLink.objects.filter(from_depot=leaves, to_depot=to).values_list("lead_days", flat=True).first()
    )
    return None if days is None else sent_on + timedelta(days=days)
