"""The examiner's list: what is to be done at the bench, the soonest promised first. Reads only."""

from __future__ import annotations

from datetime import date
from typing import Any

from inspections.due_list import USE_BY, DueEntry, due_list
from kit.models import Custody, Job


def bench_list(depot: int, today: date, days: int) -> list[tuple[DueEntry, date | None]]:
    """What is overdue, never done or due within `days` at the depot (its id), without use-by dates, which no bench
    mends; each with the day on which the job that it is promised to loads.

    The soonest promised first, then the soonest due; what is on site comes last.
    """
    entries = [entry for entry in due_list(today, days, [depot]) if entry.check != USE_BY]
    wanted = {entry.job for entry in entries if entry.job}
    loads = dict(Job.objects.filter(reference__in=wanted).values_list("reference", "load_on"))

    def urgency(entry: DueEntry) -> tuple[Any, ...]:
        away = entry.custody == Custody.ON_SITE
        return away, loads.get(entry.job or "", date.max), entry.due_on or date.min, entry.tag, entry.check

    return [(entry, loads.get(entry.job or "")) for entry in sorted(entries, key=urgency)]
