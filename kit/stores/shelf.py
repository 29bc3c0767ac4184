"""The pieces for the kit lists of several jobs, read once. Reads only."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from kit.models import Job, Kind
from kit.planning import Candidate, Need
from kit.stores.knowledge import candidates, items_of_kinds, kinds_taken, with_mates


class Shelf:
    """All pieces of the kinds that these jobs take, with the rest of their sets, as known on a day.

    Between two questions no promise may be made or given up. To the kit list of one job the kinds of the others make no
    difference.
    """

    def __init__(self, needs: Iterable[Need], day: date) -> None:
        kinds = kinds_taken(line for need in needs for line in need.lines)
        ids = Kind.objects.filter(name__in=kinds).values_list("pk", flat=True)
        items = with_mates(items_of_kinds(list(ids)))
        self.day = day
        self.lots = [item for item in items if item.counted]
        self.pieces = candidates([item for item in items if not item.counted], day)

    def for_job(self, job: Job) -> list[Candidate]:
        """The pieces, and of each lot what is free for this job."""
        return [*self.pieces, *candidates(self.lots, self.day, job)]
