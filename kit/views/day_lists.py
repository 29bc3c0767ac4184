"""What a depot has before it on a day: vans to load, kit to come back, promises that broke."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext as _

from kit.models import (
    ArrangementLine,
    Custody,
    Depot,
    Item,
    Job,
    JobState,
    Reservation,
    Standing,
    State,
    Transfer,
)
from kit.tables.marks import Mark
from kit.tables.transfers import how_far, with_counts


@dataclass(frozen=True)
class Van:
    """A job to load: how much its arrangement asks for, what is promised or out for it, what broke."""

    job: Job
    needed: int
    promised: int
    issued: int
    broken: int
    today: date

    @property
    def missing(self) -> int:
        return self.needed - self.promised - self.issued

    @property
    def mark(self) -> Mark:
        if self.job.state == JobState.OUT:
            return Mark("out")
        if self.missing > 0:
            return Mark("short", _("%(n)s of %(all)s not promised") % {"n": self.missing, "all": self.needed})
        if self.issued:
            return Mark(
                "promised", word=_("%(n)s of %(all)s issued") % {"n": self.issued, "all": self.needed}
            )
        return Mark("promised", word=_("complete"))

    @property
    def late(self) -> bool:
        """It should have been loaded before today."""
        return self.job.state == JobState.PLANNED and self.job.load_on < self.today


def vans(depot: Depot, today: date, days: int) -> list[Van]:
    """Jobs to load up to `days` ahead, late ones included, and those of today and later that are out."""
    last = today + timedelta(days=days)
    planned = Q(state=JobState.PLANNED, load_on__lte=last)
    out = Q(state=JobState.OUT, load_on__range=(today, last))
    jobs = (
        Job.objects.filter(planned | out, depot=depot)
        .select_related("arrangement")
        .order_by("load_on", "reference")
    )
    return loads(jobs, today)


def loads(jobs: Iterable[Job], today: date) -> list[Van]:
    """How far the load of each job is promised and issued; a line never counts for more than it asks."""
    listed = list(jobs)
    lines: dict[int, dict[int, int]] = defaultdict(dict)
    asked = ArrangementLine.objects.filter(arrangement__in={job.arrangement_id for job in listed})
    for arrangement, line, quantity in asked.values_list("arrangement_id", "pk", "quantity"):
        lines[arrangement][line] = quantity
    held: dict[tuple[int, int, str], int] = defaultdict(int)
    rows = Reservation.objects.filter(job__in=listed).exclude(standing=Standing.RELEASED)
    for job, line, standing, quantity in rows.values_list("job_id", "line_id", "standing", "quantity"):
        held[job, line, "issued" if standing == Standing.RETURNED else standing] += quantity
    return [_van(job, lines[job.arrangement_id], held, today) for job in listed]


def _van(job: Job, lines: dict[int, int], held: dict[tuple[int, int, str], int], today: date) -> Van:
    promised = issued = broken = 0
    for line, quantity in lines.items():
        gone = min(held.get((job.pk, line, "issued"), 0), quantity)
        issued += gone
        promised += min(held.get((job.pk, line, "promised"), 0), quantity - gone)
        broken += held.get((job.pk, line, "broken"), 0)
    return Van(job, sum(lines.values()), promised, issued, broken, today)


def returns(depot: Depot, today: date) -> QuerySet[Job]:
    """Jobs that are out, soonest back first, each with `still_out`, how many pieces and lots are on site."""
    out = Count("reservations", filter=Q(reservations__standing=Standing.ISSUED))
    return (
        Job.objects.filter(depot=depot)
        .annotate(still_out=out)
        .filter(Q(state=JobState.OUT) | Q(still_out__gt=0))
        .exclude(state__in=[JobState.CANCELLED, JobState.CLOSED])
        .order_by("return_on", "reference")
    )


def broken_promises(depot: Depot) -> QuerySet[Reservation]:
    """Promises of the depot's jobs that no longer hold, and pieces on site that are no longer fit for theirs."""
    return (
        Reservation.objects.filter(
            Q(standing=Standing.BROKEN) | (Q(standing=Standing.ISSUED) & ~Q(why="")), job__depot=depot
        )
        .filter(job__state__in=[JobState.PLANNED, JobState.OUT])
        .select_related("job", "item", "line", "proposed")
        .order_by("starts", "job__reference", "line__position", "item__tag")
    )


def set_aside(depot: Depot) -> QuerySet[Item]:
    """Quarantine by age, the oldest first."""
    return (
        Item.objects.filter(depot=depot, state=State.QUARANTINED)
        .select_related("kind")
        .order_by("state_since", "tag")
    )


def arriving(depot: Depot) -> QuerySet[Item]:
    """What is on its way to the depot, soonest first."""
    return (
        Item.objects.filter(custody=Custody.IN_TRANSIT, transit_to=depot)
        .select_related("kind", "depot")
        .order_by("arrives_on", "tag")
    )


def consignments(depot: Depot, today: date) -> list[tuple[Transfer, Mark]]:
    """What is on its way to the depot, soonest first, and what has gone out from it and is overdue, with its mark."""
    late_out = Q(from_depot=depot, arrives_on__lt=today)
    rows = Transfer.objects.filter(Q(to_depot=depot) | late_out, closed=False)
    return [(row, how_far(row, today)) for row in with_counts(rows).order_by("arrives_on", "number")]
