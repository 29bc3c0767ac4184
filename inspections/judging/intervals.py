"""How often a check is due: ISO 8601 durations of years, months, weeks and days, and adding them to a day."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import Self

from dateutil.relativedelta import relativedelta

_LONGEST_YEARS = 100
# The Gregorian calendar repeats after 400 years of 146,097 days.
_DAYS_IN_A_YEAR = 146_097 / 400
_FORM = re.compile(r"P(?:([0-9]+)Y)?(?:([0-9]+)M)?(?:([0-9]+)W)?(?:([0-9]+)D)?")
_EXAMPLES = "write for example P6M (six months), P1Y, P90D or P2W"


class IntervalFault(ValueError):
    """A text that is no interval between checks; its words say why and what to write instead."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A time between two checks in calendar years, months, weeks and days, such as P6M or P1Y6M.

    Years and months stay apart from days, because a month has no fixed number of days. What was written
    is kept: P12M and P1Y add the same time to a day, and each prints as it came. The form is that of ISO
    8601 durations. Raises IntervalFault for a part below zero and for no time at all.
    """

    years: int = 0
    months: int = 0
    weeks: int = 0
    days: int = 0

    def __post_init__(self) -> None:
        parts = (self.years, self.months, self.weeks, self.days)
        if any(part < 0 for part in parts):
            raise IntervalFault(f"An interval runs forward, so no part of it can be below zero; {_EXAMPLES}.")
        if not any(parts):
            raise IntervalFault(f"An interval of no time would make the check due every moment; {_EXAMPLES}.")

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read an ISO 8601 duration of Y, M, W, D in that order; small letters, outer spaces are forgiven.

        Weeks may stand beside other parts (P1M2W). Raises IntervalFault, in a sentence, for parts of a
        day (PT8H), fractions, signs, zero, more than 100 years (a slip of the key) and anything else.
        """
        written = text.strip().upper()
        if not written:
            raise IntervalFault(f"The interval is empty; {_EXAMPLES}.")
        if "T" in written and written.startswith("P"):
            raise IntervalFault(
                f"{text.strip()!r} has hours or minutes, but checks fall due by the day; {_EXAMPLES}."
            )
        if written[0] in "+-" or "-" in written:
            raise IntervalFault(
                f"{text.strip()!r} has a sign, but an interval only runs forward; {_EXAMPLES}."
            )
        if re.search(r"[0-9][.,][0-9]", written):
            raise IntervalFault(
                f"{text.strip()!r} has a fraction; write whole parts, such as P18M for a year and a half."
            )
        found = _FORM.fullmatch(written)
        if found is None or written == "P":
            raise IntervalFault(f"{text.strip()!r} is not an interval; {_EXAMPLES}.")
        # Nine digits of any part are past the limit; cut there, so that a page of digits is not worked out.
        years, months, weeks, days = (int((part or "0").lstrip("0")[:9] or 0) for part in found.groups())
        interval = cls(years, months, weeks, days)
        if interval._mean_days() > _LONGEST_YEARS * _DAYS_IN_A_YEAR:
            raise IntervalFault(
                f"{text.strip()!r} is more than {_LONGEST_YEARS} years, surely a slip; {_EXAMPLES}."
            )
        return interval

    def __str__(self) -> str:
        """The ISO 8601 text; `Interval.parse` of it gives the same interval back."""
        parts = ((self.years, "Y"), (self.months, "M"), (self.weeks, "W"), (self.days, "D"))
        return "P" + "".join(f"{count}{letter}" for count, letter in parts if count)

    def times(self, k: int) -> Interval:
        """This interval `k` times, part by part (P1M15D twice is P2M30D); IntervalFault if k is below 1."""
        return Interval(self.years * k, self.months * k, self.weeks * k, self.days * k)

    def add_to(self, day: date, k: int = 1) -> date:
        """The day `k` intervals after `day`, counted in one step so that month ends do not drift.

        Months first, clipped to the last day of the month reached (31 August + P6M is 28 or 29
        February), then weeks and days. `k` of 0 gives `day` itself. Raises IntervalFault past the year
        9999.
        """
        step = relativedelta(
            years=self.years * k, months=self.months * k, weeks=self.weeks * k, days=self.days * k
        )
        try:
            reached: date = day + step
        except (ValueError, OverflowError) as past_the_calendar:
            raise IntervalFault(
                f"{day.isoformat()} plus {k} x {self} is past the year 9999."
            ) from past_the_calendar
        return reached

    def whole_between(self, start: date, end: date) -> int:
        """The greatest k >= 0 with `start` + k intervals not after `end`; 0 if `end` is before `start`.

        Found from the mean length of a month and put right by a step or two: years of history cost nothing.
        """
        k = max(0, int((end - start).days / self._mean_days()))
        while k > 0 and self.add_to(start, k) > end:
            k -= 1
        while self.add_to(start, k + 1) <= end:
            k += 1
        return k

    def _mean_days(self) -> float:
        return (self.years + self.months / 12) * _DAYS_IN_A_YEAR + self.weeks * 7 + self.days
