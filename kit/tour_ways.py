"""Where a step of the tour leads at a depot: to a job or a piece that shows it, else to the list it is of."""

from __future__ import annotations

from django.db.models import Count, Q
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from kit.models import OPEN, Depot, Item, Job, JobState, Kind, Reservation, Standing, State
from kit.stores.knowledge import kit_list_of
from kit.tour import Step

MOST_LOOKED_AT = 20
"""How many jobs are looked through for one that is short: each has its kit list drawn up."""


def address_of(step: Step, depot: Depot) -> str:
    """Where the step leads, at this depot if there is something to see, else at another that the person sees."""
    found = _FINDERS[step.to](depot) if step.to in _FINDERS else None
    try:
        return found or reverse(_INSTEAD.get(step.to, step.to))
    except NoReverseMatch:
        return reverse("today")


def _job_out(depot: Depot) -> str | None:
    job = Job.objects.filter(depot=depot, state=JobState.OUT).order_by("return_on", "reference").first()
    return reverse("take_back", args=[job.reference]) if job else None


def _job_short(depot: Depot) -> str | None:
    planned = Job.objects.filter(depot=depot, state=JobState.PLANNED, load_on__gte=timezone.localdate())
    listed = planned.select_related("depot", "arrangement").order_by("load_on", "reference")[:MOST_LOOKED_AT]
    today = timezone.localdate()
    short = next((job for job in listed if not kit_list_of(job, today, mend="nothing").complete), None)
    return reverse("job", args=[short.reference]) if short else None


def _load_list(depot: Depot) -> str | None:
    held = Reservation.objects.filter(job__depot=depot, standing__in=OPEN, job__state=JobState.PLANNED)
    first = held.select_related("job").order_by("job__load_on", "job__reference").first()
    return reverse("load_list", args=[first.job.reference]) if first else None


def _set_aside(depot: Depot) -> str | None:
    item = Item.objects.filter(depot=depot, state=State.QUARANTINED).order_by("tag").first()
    return reverse("item", args=[item.tag]) if item else None


def _failed(depot: Depot) -> str | None:
    """A piece whose promise no longer holds, else one that was set aside."""
    broken = Reservation.objects.filter(item__depot=depot, standing=Standing.BROKEN).select_related("item")
    first = broken.order_by("starts", "item__tag").first()
    return reverse("item", args=[first.item.tag]) if first else _set_aside(depot)


def _report(depot: Depot) -> str | None:
    item = (
        Item.objects.filter(depot=depot, state=State.AVAILABLE, kind__counted=False).order_by("tag").first()
    )
    return reverse("item_act", args=["set-aside", item.tag]) if item else None


def _kind(depot: Depot) -> str | None:
    """The kind of which the depot has most pieces that are promised."""
    promised = Count(
        "items__reservations", filter=Q(items__reservations__standing__in=OPEN, items__depot=depot)
    )
    kind = (
        Kind.objects.filter(counted=False).annotate(promised=promised).order_by("-promised", "name").first()
    )
    return reverse("kind", args=[kind.pk]) if kind else None


def _knew(depot: Depot) -> str | None:
    item = Item.objects.filter(depot=depot).order_by("tag").first()
    return reverse("item_on_a_day", args=[item.tag]) if item else None


_FINDERS = {
    "job_out": _job_out,
    "job_short": _job_short,
    "load_list": _load_list,
    "quarantined": _set_aside,
    "failed": _failed,
    "report": _report,
    "kind": _kind,
    "knew": _knew,
}
_INSTEAD = {
    "job_out": "counter",
    "job_short": "jobs",
    "load_list": "jobs",
    "quarantined": "register",
    "failed": "register",
    "report": "register",
    "kind": "kinds",
    "knew": "register",
}
