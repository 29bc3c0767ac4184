"""Quarantine cases by age: which are open, what waits in them, and what was decided."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from inspections.models import Decision, Looked, QuarantineCase

OPEN, ALL = "open", "all"


@dataclass(frozen=True, slots=True)
class Band:
    """Cases open for `least` to `most` days, both included; `most` None: or longer."""

    key: str
    words: Any
    least: int
    most: int | None

    def holds(self, days: int) -> bool:
        return self.least <= days and (self.most is None or days <= self.most)


# Common practice, no source: a week is one look by the compliance lead, a quarter is one audit.
BANDS: tuple[Band, ...] = (
    Band("week", _("open up to 7 days"), 0, 7),
    Band("month", _("open 8 to 30 days"), 8, 30),
    Band("quarter", _("open 31 to 90 days"), 31, 90),
    Band("longer", _("open longer than 90 days"), 91, None),
)

DECISIONS: tuple[tuple[str, Any], ...] = (
    (OPEN, _("Open")),
    (Decision.RELEASED, _("Released")),
    (Decision.WITHDRAWN, _("Withdrawn")),
    (Decision.LOST, _("Lost")),
    (ALL, _("All")),
)


def cases_at(
    depots: Collection[int], decision: str = OPEN, band: str = "", today: date | None = None
) -> QuerySet[QuarantineCase]:
    """Cases of items of these depots (ids), the oldest first, each with `used_with` and `unlooked` companions.

    `decision` is open, all, or what was decided; `band` the key of an age band on `today`.
    """
    rows: Any = (
        QuarantineCase.objects.filter(item__depot__in=depots)
        .select_related("item__kind", "item__depot", "item__place", "job")
        .annotate(
            used_with=Count("companions"),
            unlooked=Count("companions", filter=Q(companions__looked=Looked.OPEN)),
        )
        .order_by("opened_at", "pk")
    )
    if decision == OPEN:
        rows = rows.filter(decision="")
    elif decision != ALL:
        rows = rows.filter(decision=decision)
    chosen = next((one for one in BANDS if one.key == band), None)
    if chosen is not None:
        rows = _opened_within(rows, chosen, today or timezone.localdate())
    return rows


def _opened_within(rows: Any, band: Band, today: date) -> Any:
    """Opened on a day that makes it as old as the band says: midnights of the depot's own clock bound it."""
    rows = rows.filter(opened_at__lt=_midnight(today - timedelta(days=band.least - 1)))
    if band.most is None:
        return rows
    return rows.filter(opened_at__gte=_midnight(today - timedelta(days=band.most)))


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def age_days(case: QuarantineCase, today: date) -> int:
    """Days from the opening to today, or to the decision."""
    last = timezone.localdate(case.decided_at) if case.decided_at else today
    return (last - timezone.localdate(case.opened_at)).days


def band_of(days: int) -> Band:
    return next(band for band in BANDS if band.holds(max(days, 0)))


def by_band(cases: Iterable[QuarantineCase], today: date) -> list[tuple[Band, int]]:
    """How many of these cases are in each band, in the order of age."""
    counts = dict.fromkeys((band.key for band in BANDS), 0)
    for case in cases:
        counts[band_of(age_days(case, today)).key] += 1
    return [(band, counts[band.key]) for band in BANDS]


@dataclass(frozen=True, slots=True)
class Ages:
    """How long open cases have been open: in days the oldest and the middle one, and how many in each week of age.

    `weeks[0]` are those open up to 6 days; the last holds all that are open as long or longer. `cases` are the cases
    themselves, week by week, the oldest first.
    """

    oldest: int
    middle: int
    weeks: tuple[int, ...]
    cases: tuple[tuple[QuarantineCase, ...], ...] = ()


WEEKS_OF_AGE = 14


def ages_of(cases: Iterable[QuarantineCase], today: date) -> Ages | None:
    """The ages of these cases; None if there is none. Of an even number the older of the middle two counts."""
    aged = sorted(((max(0, age_days(case, today)), case) for case in cases), key=lambda pair: pair[0])
    if not aged:
        return None
    weeks: list[list[QuarantineCase]] = [[] for _week in range(WEEKS_OF_AGE)]
    for days, case in reversed(aged):
        weeks[min(days // 7, WEEKS_OF_AGE - 1)].append(case)
    middle = aged[len(aged) // 2][0]
    return Ages(aged[-1][0], middle, tuple(map(len, weeks)), tuple(map(tuple, weeks)))
