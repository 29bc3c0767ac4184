"""The window that a reservation of a kind takes up for a job."""

from __future__ import annotations

from datetime import date, timedelta

from kit.models import Job, Kind


def window(job: Job, kind: Kind) -> tuple[date, date]:
    """(starts, ends), both inclusive: loading day to return day and the kind's turn-round days."""
    return job.load_on, job.return_on + timedelta(days=kind.turn_round_days)
