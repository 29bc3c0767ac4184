"""How far the pieces that a job holds reach, read from the register."""

from __future__ import annotations

from datetime import date

from kit.models import HOLDING, Job, Reservation
from kit.planning.reach import Held, Reach, reaches


def reach_of_job(job: Job) -> list[Reach]:
    """Of each piece promised to the job or out on it, until which return it holds; what gives out first on top.

    Of a lot only its dates count: others may have their share of it at the same time.
    """
    rows = list(job.reservations.filter(standing__in=HOLDING).select_related("item__kind", "line"))
    following = (
        Reservation.objects.filter(
            item__in={row.item_id for row in rows if not row.counted},
            standing__in=HOLDING,
            starts__gt=job.load_on,
        )
        .exclude(job=job)
        .order_by("starts")
        .values_list("item_id", "job__reference", "starts")
    )
    after: dict[int, tuple[str, date]] = {}
    for item_id, reference, starts in following:
        after.setdefault(item_id, (reference, starts))
    return reaches(
        Held(
            row.item.tag,
            row.line.name,
            row.item.fit_until,
            row.item.kind.margin_days,
            row.item.kind.turn_round_days,
            *after.get(row.item_id, ("", None)),
        )
        for row in rows
    )
