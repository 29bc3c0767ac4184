"""Sets in the count of stops: a set goes into one stop whole or not at all.

Two figures hold it. At most: as if the pieces of every set could go singly. At least: counted are sets that fit a
stop in one way only (each piece on lines that ask alike, no more of them than a stop takes, of one mark where the
stop's mark counts), each in a stop of its own. As many pieces in all are then enough: where the stops can be filled
from pieces singly, and each of these sets has a stop of its own, they can be filled with all of these sets in use
(Mendelsohn and Dulmage, 1958: what two matchings cover, one covers), and pieces on lines that ask alike change places
until each set is together. Where both figures agree, which is usual, the count is exact.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from kit.planning.readiness_pattern import ANY_MARK, JOB_MARK, Alike, Pattern

Made = tuple[tuple[Alike, int], ...]
"""What a set is made of: so many pieces of each sort, in order."""


@dataclass(frozen=True, slots=True)
class SetStock:
    """`sets` of one make at a depot that can load on any day from `first` to `last`; a negative number takes back."""

    depot: str
    made: Made
    first: date
    last: date
    sets: int = 1


@dataclass(frozen=True, slots=True)
class Member:
    """A piece of a set: its sort, where and between which days it can load, and the loading days promises rule out."""

    depot: str
    alike: Alike
    first: date
    last: date
    held: tuple[tuple[date, date], ...] = ()


def set_stock(members: Sequence[Member]) -> Iterator[SetStock]:
    """A set of which all members are given, as stock: there on the days on which all of them are, at one depot."""
    if len({member.depot for member in members}) != 1:
        return
    first, last = max(member.first for member in members), min(member.last for member in members)
    if first > last:
        return
    made: Made = tuple(sorted(Counter(member.alike for member in members).items()))
    depot = members[0].depot
    yield SetStock(depot, made, first, last)
    free_from = first
    for starts, ends in sorted(held for member in members for held in member.held):
        starts, ends = max(starts, free_from), min(ends, last)
        if starts <= ends:
            yield SetStock(depot, made, starts, ends, -1)
            free_from = ends + timedelta(days=1)


def with_sets(
    pattern: Pattern,
    most: Callable[[Mapping[Alike, int]], int],
    loose: Mapping[Alike, int],
    sets: Mapping[Made, int],
) -> tuple[dict[Alike, int], int]:
    """(pieces to count by, with those of sets that can be in use; the most stops, did every piece go singly).

    `most`: the stops that pieces give; `sets`: how many of each make there are on the day.
    """
    may_go = {made: n for made, n in sets.items() if all(_asked(pattern, alike) for alike, _ in made)}
    use = {made: n for made, n in may_go.items() if pattern.simple and _one_way(pattern, made)}
    # Small ones are left first where there are more sets than stops.
    order = sorted(use, key=lambda made: (sum(n for _, n in made), made))
    while use:
        have = _and(loose, use)
        stops = most(have)
        room = pattern.most_of_marks(have)
        too_many = sum(use.values()) - stops
        mark = next((mark for mark, n in _by_mark(pattern, use).items() if n > room.get(mark, 0)), None)
        if mark is None and too_many <= 0:
            break
        left = next(
            made for made in order if made in use and (mark is None or _mark_of(pattern, made) == mark)
        )
        fewer = _by_mark(pattern, use)[mark] - room.get(mark, 0) if mark is not None else too_many
        use[left] -= min(fewer, use[left])
        use = {made: n for made, n in use.items() if n > 0}
    return _and(loose, use), most(_and(loose, may_go))


def _and(loose: Mapping[Alike, int], sets: Mapping[Made, int]) -> dict[Alike, int]:
    have: dict[Alike, int] = defaultdict(int, loose)
    for made, number in sets.items():
        for alike, pieces in made:
            have[alike] += pieces * number
    return dict(have)


def _asked(pattern: Pattern, alike: Alike) -> bool:
    return any(ask.takes(alike) and (ask.chooser is ANY_MARK or alike[2]) for ask in pattern.asks)


def _one_way(pattern: Pattern, made: Made) -> bool:
    """Whether the set fits a stop, and each of its pieces goes on lines that ask alike."""
    taken: Counter[int] = Counter()
    for alike, pieces in made:
        asks = [place for place, ask in enumerate(pattern.asks) if ask.takes(alike)]
        if len(asks) != 1 or pattern.asks[asks[0]].chooser not in (ANY_MARK, JOB_MARK):
            return False
        taken[asks[0]] += pieces
    fits = all(pieces <= pattern.asks[place].pieces for place, pieces in taken.items())
    return fits and len(_marks(pattern, made)) <= 1


def _marks(pattern: Pattern, made: Made) -> set[str]:
    """The marks that its pieces have on lines that match by mark."""
    return {
        alike[2]
        for alike, _ in made
        for ask in pattern.asks
        if ask.chooser is not ANY_MARK and ask.takes(alike)
    }


def _mark_of(pattern: Pattern, made: Made) -> str:
    return next(iter(_marks(pattern, made)), "")


def _by_mark(pattern: Pattern, sets: Mapping[Made, int]) -> Counter[str]:
    found: Counter[str] = Counter()
    for made, number in sets.items():
        if mark := _mark_of(pattern, made):
            found[mark] += number
    return found


def days_of(stock: Iterable[SetStock], first: date, days: int) -> dict[str, dict[Made, list[int]]]:
    """By depot and make, how many sets there are on each day."""
    found: dict[str, dict[Made, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0] * days))
    for each in stock:
        run = found[each.depot][each.made]
        for number in range(max((each.first - first).days, 0), min((each.last - first).days, days - 1) + 1):
            run[number] += each.sets
    return {depot: dict(by_make) for depot, by_make in found.items()}
