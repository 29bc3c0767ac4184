"""Readiness: how many stops of an arrangement and bore can be mounted at once on each of a run of days.

Each day is judged by the very rules of reserving for a job that loads and comes back on that day: in date until then
and the kind's margin, available, here or come in by transfer the day before, promised or issued to nobody from that
day to the end of the kind's turn-round. A stop's kit comes from one depot, so stops are counted depot by depot.

Taken account of: lines that draw on the same pieces, margins and turn-round, substitutes (whichever kind is to hand),
assemblies (each unit of one mark), lots. Each stop takes a mark of its own for its lines that match by mark. A set
goes into one stop whole or not at all (`readiness_sets`): what is counted of sets never promises too much, and each
day tells how many stops there are at most, where that is not the same.

Everything is counted by groups of like pieces and the days between which they can load: a day costs the same whether
a depot has a hundred pieces or a hundred thousand.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate

from kit.planning.readiness_pattern import Alike, Pattern
from kit.planning.readiness_sets import Made, SetStock, days_of, with_sets
from kit.planning.values import Line

__all__ = ["Day", "Readiness", "Stock", "ready"]


@dataclass(frozen=True, slots=True)
class Stock:
    """`pieces` of one sort at a depot that can load on any day from `first` to `last`, both included.

    A negative number takes back what was counted but is promised on those days. `suits`: the piece covers the bore;
    False where no line of its kind asks. `mark` is as it is compared, empty where no line of its kind asks.
    """

    depot: str
    kind: str
    suits: bool
    mark: str
    first: date
    last: date
    pieces: int = 1

    @property
    def alike(self) -> Alike:
        return self.kind, self.suits, self.mark


_Counted = tuple[Mapping[Alike, int], int]


@dataclass(frozen=True, slots=True)
class Day:
    """The most stops on a day, what each depot adds, and the kinds that limit it in the arrangement's order.

    `sets_add`: so many more there may be at most, if sets can be put together better than was counted; usually none.
    """

    day: date
    stops: int
    limited_by: tuple[str, ...]
    by_depot: tuple[tuple[str, int], ...] = ()
    sets_add: int = 0

    @property
    def at_most(self) -> int:
        return self.stops + self.sets_add


class Readiness:
    """Stock laid out by depot and day, so that it can be counted again with some pieces more."""

    def __init__(
        self,
        lines: Sequence[Line],
        stock: Iterable[Stock],
        first: date,
        days: int,
        sets: Iterable[SetStock] = (),
    ) -> None:
        self.pattern = Pattern(lines)
        self.first, self.days = first, days
        self._have = _by_day(stock, first, days)
        self._sets = days_of(sets, first, days)
        self._put_together: dict[
            tuple[frozenset[tuple[Alike, int]], frozenset[tuple[Made, int]]], _Counted
        ] = {}
        self._known: dict[tuple[frozenset[tuple[Alike, int]], str], int] = {}

    @property
    def depots(self) -> tuple[str, ...]:
        return tuple(sorted({*self._have, *self._sets}))

    def marks(self, depot: str) -> tuple[str, ...]:
        """The marks of what a depot has, as they are compared."""
        singly = {mark for (_kind, _suits, mark) in self._have.get(depot, {})}
        in_sets = {mark for made in self._sets.get(depot, {}) for (_kind, _suits, mark), _ in made}
        return tuple(sorted((singly | in_sets) - {""}))

    def day(self, number: int) -> date:
        return self.first + timedelta(days=number)

    def stops(self, depot: str, number: int, more: Mapping[Alike, int] | None = None) -> int:
        """The most stops of a depot on a day, had it `more` as well."""
        return self._most(self.pattern, "", self._counted(depot, number, more)[0])

    def _counted(self, depot: str, number: int, more: Mapping[Alike, int] | None = None) -> _Counted:
        """What is counted by of what a depot can load on the day of that number, 0 the first, and the most stops."""
        loose = {alike: run[number] for alike, run in self._have.get(depot, {}).items() if run[number] > 0}
        have = Counter(loose) + Counter(more or {})
        sets = {made: run[number] for made, run in self._sets.get(depot, {}).items() if run[number] > 0}
        if not sets:
            return have, self._most(self.pattern, "", have)
        key = frozenset(have.items()), frozenset(sets.items())
        if key not in self._put_together:
            self._put_together[key] = with_sets(
                self.pattern, lambda stock: self._most(self.pattern, "", stock), have, sets
            )
        return self._put_together[key]

    def answer(self) -> list[Day]:
        """All days with what limits them."""
        return [self._one_day(number) for number in range(self.days)]

    def _most(self, pattern: Pattern, which: str, have: Mapping[Alike, int]) -> int:
        # What there is is the same on many days: what it comes to need not be found out twice.
        key = frozenset(have.items()), which
        if key not in self._known:
            self._known[key] = pattern.most(have)
        return self._known[key]

    def _one_day(self, number: int) -> Day:
        counted = {depot: self._counted(depot, number) for depot in self.depots}
        have = {depot: dict(each) for depot, (each, _) in counted.items()}
        stops = {depot: self._most(self.pattern, "", each) for depot, each in have.items()}
        total = sum(stops.values())
        at_most = sum(most for _, most in counted.values())
        return Day(self.day(number), total, self._limits(have, stops), tuple(stops.items()), at_most - total)

    def _limits(self, have: Mapping[str, dict[Alike, int]], stops: Mapping[str, int]) -> tuple[str, ...]:
        """The kinds that limit, as `ready` says."""
        found = []
        total = sum(stops.values())
        alone = {depot: self._bounds(there) for depot, there in (have or {"": {}}).items()}
        for kind in self.pattern.kinds:
            if sum(bounds[kind] for bounds in alone.values()) == total or any(
                self._raises(kind, have[depot], stops[depot], alone[depot]) for depot in have
            ):
                found.append(kind)
        return tuple(found) or self._together(list(have.values()), total)

    def _bounds(self, have: Mapping[Alike, int]) -> dict[str, int]:
        """By kind, what its own lines would allow if no other kind limited them."""
        bounds = {}
        for kind in self.pattern.kinds:
            of_its_own = self.pattern.of_kind(kind)
            bounds[kind] = self._most(of_its_own, kind, of_its_own.relevant(have))
        return bounds

    def _raises(self, kind: str, have: dict[Alike, int], stops: int, bounds: Mapping[str, int]) -> bool:
        """Whether pieces of the kind without limit would raise the count of a depot."""
        # Another kind that allows no more by itself, and for which this one is no substitute, forbids it.
        if any(
            bound == stops and kind not in self.pattern.takes_for(other) for other, bound in bounds.items()
        ):
            return False
        return self._without_limit([have], {kind}) > stops

    def _without_limit(self, each: Iterable[dict[Alike, int]], kinds: set[str]) -> int:
        return sum(self._most(self.pattern, "", self.pattern.plenty_of(kinds, there)) for there in each)

    def _together(self, each: Sequence[dict[Alike, int]], total: int) -> tuple[str, ...]:
        """Kinds none of which raises the count alone, and all of them together do; none of them idle."""
        freed = list(self.pattern.kinds)
        for kind in self.pattern.kinds:
            fewer = set(freed) - {kind}
            if fewer and self._without_limit(each, fewer) > total:
                freed.remove(kind)
        return tuple(freed)


def ready(
    lines: Sequence[Line], stock: Iterable[Stock], first: date, days: int, sets: Iterable[SetStock] = ()
) -> list[Day]:
    """The most stops of an arrangement with these lines on each day from `first` on, and what limits each day.

    A kind limits a day if more pieces of it (at every depot, suiting the bore, of every mark) would raise the count,
    or if its own lines alone allow no more than the count. Where no kind does so alone, it is the kinds that limit
    the day together. A day of no stops is so limited by all that is missing.
    """
    return Readiness(lines, stock, first, days, sets).answer()


def _by_day(stock: Iterable[Stock], first: date, days: int) -> dict[str, dict[Alike, list[int]]]:
    """By depot and sort of piece, how many there are on each day."""
    steps: dict[str, dict[Alike, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0] * (days + 1)))
    for group in stock:
        starts = max((group.first - first).days, 0)
        ends = min((group.last - first).days, days - 1)
        if starts <= ends:
            step = steps[group.depot][group.alike]
            step[starts] += group.pieces
            step[ends + 1] -= group.pieces
    return {
        depot: {alike: list(accumulate(step[:days])) for alike, step in by_sort.items()}
        for depot, by_sort in steps.items()
    }
