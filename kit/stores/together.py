"""With what a piece is out, and with what it was: read from the promises that were issued."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from django.db.models import Count, IntegerField, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce

from kit.models import Item, Reservation, Standing

Bound = Literal["set", "unit", ""]
LOOKED_BACK = 12
"""In how many of its last jobs companions are looked for."""
_ORDER: dict[str, int] = {"set": 0, "unit": 1, "": 2}


@dataclass(frozen=True, slots=True)
class Beside:
    """A piece that is out on the same job. `bound`: of its set, or made up with it into a unit that shares a mark."""

    row: Reservation
    bound: Bound

    @property
    def item(self) -> Item:
        return self.row.item


@dataclass(frozen=True, slots=True)
class Companion:
    """A piece that went out with it again and again, and on which jobs (reference, depot), the last first."""

    tag: str
    kind: str
    depot_id: int
    jobs: Sequence[tuple[str, int]]


def out_with(rows: Sequence[Reservation]) -> dict[int, list[Beside]]:
    """By job: what else is out on the jobs on which a piece is out; `rows` are its own issued promises.

    What is bound to it comes first, then in the order of the arrangement.
    """
    own = {row.job_id: row for row in rows}
    found: dict[int, list[Beside]] = {job: [] for job in own}
    others = (
        Reservation.objects.filter(job__in=own, standing=Standing.ISSUED)
        .exclude(item__in={row.item_id for row in rows})
        .select_related("item__kind", "line")
        .order_by("line__position", "item__tag")
    )
    for other in others if own else ():
        found[other.job_id].append(Beside(other, _bound(own[other.job_id], other)))
    return {job: sorted(beside, key=lambda each: _ORDER[each.bound]) for job, beside in found.items()}


def _bound(own: Reservation, other: Reservation) -> Bound:
    a, b = own.item, other.item
    if a.set_name and a.set_name == b.set_name and a.depot_id == b.depot_id:
        return "set"
    if own.line.assembly and own.line.assembly == other.line.assembly and a.mark and a.mark == b.mark:
        return "unit"
    return ""


def outings_of(item: Item) -> QuerySet[Reservation]:
    """Each time it went out, the last first, with `others`: how many other tags went out on the same job."""
    others = (
        Reservation.objects.filter(job=OuterRef("job"), issued_on__isnull=False)
        .exclude(item=item)
        .order_by()
        .values("job")
        .annotate(number=Count("item", distinct=True))
        .values("number")
    )
    return (
        Reservation.objects.filter(item=item, issued_on__isnull=False)
        .select_related("job", "line")
        .annotate(others=Coalesce(Subquery(others, output_field=IntegerField()), 0))
        .order_by("-issued_on", "-pk")
    )


def companions_of_late(item: Item, most: int = 8) -> list[Companion]:
    """Which pieces shared two or more of its last jobs with it, most often first. Lots are left out."""
    jobs = list(
        Reservation.objects.filter(item=item, issued_on__isnull=False)
        .order_by("-issued_on", "-pk")
        .values_list("job", flat=True)[:LOOKED_BACK]
    )
    rows = (
        Reservation.objects.filter(job__in=jobs, issued_on__isnull=False, counted=False)
        .exclude(item=item)
        .order_by("-job__load_on", "-job__reference")
        .values_list("item__tag", "item__kind__name", "item__depot", "job__reference", "job__depot")
    )
    met: dict[tuple[str, str, int], dict[tuple[str, int], None]] = {}
    for tag, kind, depot, job, of in rows if len(jobs) > 1 else ():
        met.setdefault((tag, kind, depot), {})[job, of] = None
    often = [Companion(*who, tuple(with_it)) for who, with_it in met.items() if len(with_it) > 1]
    return sorted(often, key=lambda one: (-len(one.jobs), one.tag))[:most]
