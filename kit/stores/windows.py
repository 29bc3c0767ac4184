"""The window that a reservation of a kind takes up for a job."""

from __future__ import annotations

from datetime import date, timedelta

from kit.models import Job, Kind


def window(job: Job, kind: Kind, issued_on: date | None = None) -> tuple[date, date]:
    """(starts, ends), both inclusive: loading day to return day and the kind's turn-round days.

    A piece that went out before the loading day is away from the day of its issue on.
    """
    starts = job.load_on if issued_on is None else min(job.load_on, issued_on)
    return starts, job.return_on + timedelta(days=kind.turn_round_days)
