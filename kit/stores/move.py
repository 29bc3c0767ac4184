"""Moving a job as it was shown: to the days somebody looked at, or to the soonest on which it is whole."""

from __future__ import annotations

from copy import copy
from datetime import date, timedelta

from kit.models import Job
from kit.stores.act import Act, NotAllowed, Who
from kit.stores.current import renew_job
from kit.stores.foresee import Foreseen, foresee_move, gives_of, stands_now
from kit.stores.knowledge import kit_list_of
from kit.stores.plan_job import change_job

HORIZON_DAYS = 84


def soonest_whole(who: Who, job: Job, today: date, horizon_days: int = HORIZON_DAYS) -> Foreseen | None:
    """The fewest days by which loading later makes the job whole once the best choice is reserved, foretold; None if
    no day within the horizon is known to.

    Days on which even a choice afresh would lack a line are passed over: a line that is short then is full on its own
    soonest day at the earliest. Each other day is rehearsed, because what the job holds already stays where it is.
    """
    length = job.return_on - job.load_on
    day = max(job.load_on + timedelta(days=1), today)
    last = max(job.load_on, today) + timedelta(days=horizon_days)
    while day <= last:
        later = copy(job)
        later.load_on, later.return_on = day, day + length
        afresh = kit_list_of(later, today, held=[], mend="soonest")
        if afresh.complete:
            found = foresee_move(who, job, day, day + length, others=False)
            if found.whole:
                return found
            day += timedelta(days=1)
            continue
        soonest = [line.soonest for line in afresh.lines if line.short]
        if any(each is None for each in soonest):
            return None
        day = max(day + timedelta(days=1), *(each for each in soonest if each is not None))
    return None


def move_seen(
    act: Act,
    job: Job,
    load_on: date,
    return_on: date,
    revision: int,
    note: str = "",
    gives: str = "",
) -> bool:
    """Move the job as somebody was shown it would go. Refused if the job is not the one they saw, or if by now
    something else would give than they were shown (`gives` of what was foreseen; empty: they were shown no list).
    """
    renew_job(job)
    if job.revision != revision:
        raise NotAllowed(
            f"{job} has changed since this was shown (revision {revision}, now {job.revision}): "
            "look at what gives now, then move it."
        )
    before = stands_now() if gives else {}
    moved = change_job(act, job, note, load_on=load_on, return_on=return_on)
    if gives and gives_of(before, stands_now()) != gives:
        raise NotAllowed(
            f"Something else would give by now than was shown when {job} was to be moved: "
            "nothing is moved. Look at what gives now, then move it."
        )
    return moved
