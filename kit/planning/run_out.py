"""When pieces run out, month by month: how much life is left in a kind or a batch as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from kit.planning.values import NO_LIMIT


@dataclass(frozen=True, slots=True)
class Month:
    """How many are fit until a day from `first` to before `after`. None: no bound on that side."""

    first: date | None
    after: date | None
    number: int


@dataclass(frozen=True, slots=True)
class RunOut:
    """`not_fit` now (never checked, failed, past a date), month by month, `later` than these, `unlimited`."""

    not_fit: int
    months: tuple[Month, ...]
    later: Month
    unlimited: int

    @property
    def number(self) -> int:
        return self.not_fit + sum(m.number for m in self.months) + self.later.number + self.unlimited


def month_after(day: date, months: int) -> date:
    """The first day of the month that lies so many months after that of the day."""
    number = day.year * 12 + day.month - 1 + months
    return date(number // 12, number % 12 + 1, 1)


def run_out(counts: Iterable[tuple[date | None, int]], today: date, months: int) -> RunOut:
    """From (fit until, how many): the month of today from today on, and those that follow, `months` in all."""
    starts = [today, *(month_after(today, n) for n in range(1, months + 1))]
    found = [0] * (months + 1)
    not_fit = unlimited = 0
    for until, number in counts:
        if until is None or until < today:
            not_fit += number
        elif until == NO_LIMIT:
            unlimited += number
        else:
            place = (until.year - today.year) * 12 + until.month - today.month
            found[min(place, months)] += number
    ahead = tuple(Month(starts[n], starts[n + 1], found[n]) for n in range(months))
    return RunOut(not_fit, ahead, Month(starts[months], NO_LIMIT, found[months]), unlimited)
