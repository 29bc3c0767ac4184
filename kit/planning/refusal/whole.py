"""The soonest later loading day on which a job as long would be whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from kit.planning.values import Candidate, Need


def soonest_whole(need: Need, candidates: Iterable[Candidate], as_of: date) -> date | None:
    """The earliest loading day after the present one, from `as_of` on, on which every line would be full; None if no
    later day is known to be.

    The job is taken to choose afresh on the day, with what is known today. A line that is short on a day is full on its
    own soonest day at the earliest, so the days before the latest of these need not be looked at.
    """
    from kit.planning.kit_list import draw_up

    pieces = list(candidates)
    length = need.return_on - need.load_on
    day = max(need.load_on + timedelta(days=1), as_of)
    while day <= date.max - length - timedelta(days=366):
        kit = draw_up(replace(need, load_on=day, return_on=day + length), pieces, as_of, mend="soonest")
        if kit.complete:
            return day
        soonest = [line.soonest for line in kit.lines if line.short]
        known = [each for each in soonest if each is not None]
        if len(known) < len(soonest):
            return None
        day = max(known)
    return None
