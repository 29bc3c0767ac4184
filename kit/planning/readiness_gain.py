"""What a piece more, or an inspection done in time, would give: every figure by counting again, none by estimate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from kit.planning.readiness import Day, Readiness, Stock
from kit.planning.readiness_pattern import Alike

MOST_GROUPS = 60


@dataclass(frozen=True, slots=True)
class Gain:
    """`pieces` more of one sort at a depot give so many stops, added up over the days, on so many days.

    `due_on` is None for pieces bought or borrowed; else the last day on which the pieces meant are in date now:
    inspected before, they stay in the count. `first` is the first day that gains.
    """

    depot: str
    kind: str
    suits: bool
    mark: str
    pieces: int
    stops: int
    days: int
    first: date
    due_on: date | None = None

    @property
    def alike(self) -> Alike:
        return self.kind, self.suits, self.mark

    @property
    def rank(self) -> tuple[float, ...]:
        """The most for a piece comes first."""
        return (-self.stops / self.pieces, -self.stops, self.pieces)


@dataclass(frozen=True, slots=True)
class Dropping:
    """Pieces of one sort that drop out within the days, `due_on` the last on which they are in date.

    `back` is what they would be as stock on the days after that, had what falls due been passed in time.
    """

    due_on: date
    back: Stock


def one_more(known: Readiness, days: Sequence[Day]) -> list[Gain]:
    """For each kind that limits some day, at each depot, the fewest pieces more that give a stop, best first.

    They are taken to suit the bore, to be fit all the time, and, of kinds that match by mark, to be of that of the
    marks about which gives most. Kinds of which not even a whole stop's pieces would help are left out.
    """
    limiting = {kind for day in days for kind in day.limited_by}
    found = []
    for kind in (kind for kind in known.pattern.kinds if kind in limiting):
        for depot in known.depots:
            gain = _fewest(known, days, depot, kind)
            if gain is not None:
                found.append(gain)
    return sorted(found, key=lambda gain: gain.rank)


def _fewest(known: Readiness, days: Sequence[Day], depot: str, kind: str) -> Gain | None:
    for pieces in range(1, known.pattern.a_stop_takes(kind) + 1):
        tried = [
            gain
            for alike in _sorts(known, depot, kind)
            if (gain := _gain(known, days, depot, {(0, known.days - 1): pieces}, alike, pieces))
        ]
        if tried:
            return min(tried, key=lambda gain: (gain.rank, gain.mark))
    return None


def _sorts(known: Readiness, depot: str, kind: str) -> list[Alike]:
    suits = kind in known.pattern.bore_kinds
    if kind not in known.pattern.mark_kinds:
        return [(kind, suits, "")]
    return [(kind, suits, mark) for mark in known.marks(depot)]


def kept_in_date(
    known: Readiness, days: Sequence[Day], dropping: Iterable[Dropping], at_most: int
) -> list[Gain]:
    """What it gives to do in time what lets pieces drop out: those of one sort and one day together, best first.

    At most so many; those that give no stop are left out. Where there are many groups, the MOST_GROUPS that bring back
    most pieces on most of the days that their kind limits are counted again.
    """
    groups: dict[tuple[str, Alike, date], list[Stock]] = {}
    for each in dropping:
        groups.setdefault((each.back.depot, each.back.alike, each.due_on), []).append(each.back)
    spans = {key: _spans(known, stock) for key, stock in groups.items()}
    hopeful = {key: _piece_days(days, key[1][0], span) for key, span in spans.items()}
    found = []
    for key in sorted((key for key in groups if hopeful[key]), key=lambda key: (-hopeful[key], key))[
        :MOST_GROUPS
    ]:
        depot, alike, due_on = key
        number = sum(each.pieces for each in groups[key])
        gain = _gain(known, days, depot, spans[key], alike, number, due_on)
        if gain is not None:
            found.append(gain)
    return sorted(found, key=lambda gain: (gain.rank, gain.due_on or date.max, gain.kind))[:at_most]


Spans = dict[tuple[int, int], int]
"""Pieces by the numbers of the first and last day on which they are there."""


def _spans(known: Readiness, stock: Iterable[Stock]) -> Spans:
    spans: Spans = {}
    for each in stock:
        first, last = ((day - known.first).days for day in (each.first, each.last))
        key = max(first, 0), min(last, known.days - 1)
        spans[key] = spans.get(key, 0) + each.pieces
    return spans


def _piece_days(days: Sequence[Day], kind: str, spans: Spans) -> int:
    """On how many days, times pieces, they are there while their kind limits."""
    return sum(
        pieces * sum(kind in day.limited_by for day in days[first : last + 1])
        for (first, last), pieces in spans.items()
    )


def _gain(
    known: Readiness,
    days: Sequence[Day],
    depot: str,
    spans: Spans,
    alike: Alike,
    pieces: int,
    due_on: date | None = None,
) -> Gain | None:
    """What so many pieces more, on the days of their `spans`, give at a depot."""
    stops = gaining = 0
    first: int | None = None
    for number, day in enumerate(days):
        here = sum(more for (starts, ends), more in spans.items() if starts <= number <= ends)
        # A kind that does not limit a day gives nothing on it, however many more there are.
        if not here or alike[0] not in day.limited_by:
            continue
        gained = known.stops(depot, number, {alike: here}) - known.stops(depot, number)
        if gained > 0:
            stops, gaining = stops + gained, gaining + 1
            first = number if first is None else first
    if first is None:
        return None
    return Gain(depot, *alike, pieces, stops, gaining, known.day(first), due_on)
