"""How many stops of an arrangement can be mounted at once from what a depot has on one day, exactly.

A stop takes pieces of each of its lines. Pieces that are alike (of one kind, suiting the bore or not, of one mark)
are counted, never looked at one by one. What makes the count more than a division by what a stop takes:

- Two lines may draw on the same pieces (bags that suit the bore, and a spare of any size). By Hall's theorem (1935)
  all lines can be filled if, and only if, no set of lines asks for more than there is that would do for any of it.
- The lines of one stop that match by mark share a mark, which may differ from stop to stop; so do the pieces of each
  unit of an assembly. The number of stops of each mark has to be chosen. In nearly all arrangements the choice is
  free of charge (each mark gives what it can), and the answer is a least quotient. Where it is not, because a line of
  the same kind takes any mark and would eat into one of them, a small integer model chooses (HiGHS through scipy).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain, combinations
from math import gcd

from kit.planning.readiness_model import Share, most_by_model
from kit.planning.values import Line

Alike = tuple[str, bool, str]
"""What makes pieces alike: their kind, whether they suit the bore, their mark as it is compared."""

PLENTY = 10**6
"""So many pieces of a kind that it limits nothing."""

JOB_MARK = ""
ANY_MARK = None


@dataclass(frozen=True, slots=True)
class Ask:
    """What lines of one sort ask of a stop, or of each unit of an assembly: `pieces` of one of the `kinds`.

    `chooser`: ANY_MARK, or by what the mark is chosen: JOB_MARK by the stop, else the name of an assembly by each unit.
    """

    kinds: frozenset[str]
    bore: bool
    chooser: str | None
    pieces: int

    def takes(self, alike: Alike) -> bool:
        """Whether such pieces would do, as far as kind and bore go."""
        return alike[0] in self.kinds and (alike[1] or not self.bore)


class Pattern:
    """An arrangement's lines, compiled to what is asked of a day's stock."""

    def __init__(self, lines: Iterable[Line]) -> None:
        listed = list(lines)
        self.units = {JOB_MARK: 1} | _units(listed)
        self.asks = _asks(listed, self.units)
        self.parts = [_Part(asks, self.units) for asks in _parts(self.asks)]
        self.choosers = {ask.chooser for ask in self.asks if ask.chooser is not None}
        self.kinds = tuple(dict.fromkeys(line.kind for line in listed))
        self.bore_kinds = frozenset(chain(*(ask.kinds for ask in self.asks if ask.bore)))
        self.mark_kinds = frozenset(chain(*(ask.kinds for ask in self.asks if ask.chooser is not None)))
        self.wanted = frozenset(chain(*(ask.kinds for ask in self.asks)))
        self.counted_kinds = frozenset(
            chain(
                *((line.kind, *(each.kind for each in line.substitutes)) for line in listed if line.counted)
            )
        )
        self._lines = listed
        self._own: dict[str, Pattern] = {}

    def most(self, have: Mapping[Alike, int]) -> int:
        """The most stops that `have` (pieces of each sort) allows at once; PLENTY where nothing limits them."""
        stock = {alike: number for alike, number in have.items() if number > 0}
        marks, by_mark = self._by_mark(stock)
        most = PLENTY
        for chooser in self.choosers:
            most = min(most, sum(by_mark[chooser, mark] for mark in marks) // self.units[chooser])
        for part in self.parts:
            most = min(most, part.bound(stock))
        if most and not self.simple:
            shares = [
                Share(ask.pieces, ask.chooser, tuple(a for a in stock if ask.takes(a))) for ask in self.asks
            ]
            return most_by_model(shares, self.units, marks, stock, most)
        return most

    @property
    def simple(self) -> bool:
        """Whether stops may be of whichever marks give them: no line takes from one mark what another needs."""
        return all(part.simple for part in self.parts)

    def most_of_marks(self, have: Mapping[Alike, int]) -> dict[str, int]:
        """The most stops of each mark, as far as lines go that match by mark."""
        return {
            mark: number for (chooser, mark), number in self._by_mark(have)[1].items() if chooser == JOB_MARK
        }

    def _by_mark(self, stock: Mapping[Alike, int]) -> tuple[list[str], dict[tuple[str, str], int]]:
        """The marks about, and the most stops (or units) of each chooser and mark."""
        marks = sorted({mark for (kind, _suits, mark) in stock if mark and kind in self.mark_kinds})
        most = {(chooser, mark): PLENTY for chooser in self.choosers for mark in marks}
        for part in self.parts:
            part.bound_marks(stock, marks, most)
        return marks, most

    def of_kind(self, kind: str) -> Pattern:
        """The lines of that kind alone, as if no other limited a stop."""
        if kind not in self._own:
            self._own[kind] = Pattern(line for line in self._lines if line.kind == kind)
        return self._own[kind]

    def a_stop_takes(self, kind: str) -> int:
        """How many pieces the lines of that kind take for a stop."""
        return sum(line.quantity for line in self._lines if line.kind == kind)

    def relevant(self, have: Mapping[Alike, int]) -> dict[Alike, int]:
        """What of it any line would take."""
        return {alike: number for alike, number in have.items() if alike[0] in self.wanted}

    def takes_for(self, kind: str) -> frozenset[str]:
        """The kinds that any line of this kind takes."""
        return self.of_kind(kind).wanted

    def plenty_of(self, kinds: Iterable[str], have: Mapping[Alike, int]) -> dict[Alike, int]:
        """The same with more of these kinds than can be used: suiting the bore, of every mark that is about."""
        # Where no piece has a mark, what comes in has one of its own.
        marks = {mark for (_kind, _suits, mark) in have if mark} or {"?"}
        more = {
            (kind, kind in self.bore_kinds, mark): PLENTY
            for kind in kinds
            for mark in (marks if kind in self.mark_kinds else {""})
        }
        return {**have, **more}


def _units(lines: Iterable[Line]) -> dict[str, int]:
    """Of each assembly that is not bound to the job's mark, how many units a stop takes."""
    quantities: dict[str, int] = {}
    bound = set()
    for line in lines:
        if line.assembly:
            quantities[line.assembly] = gcd(quantities.get(line.assembly, 0), line.quantity)
            if line.match in ("mark", "bore+mark"):
                bound.add(line.assembly)
    return {name: number for name, number in quantities.items() if name not in bound}


def _asks(lines: Iterable[Line], units: Mapping[str, int]) -> list[Ask]:
    """What the lines ask for, those that ask for the same taken together."""
    pieces: dict[tuple[frozenset[str], bool, str | None], int] = {}
    for line in lines:
        chooser: str | None = ANY_MARK
        if line.assembly in units and line.assembly:
            chooser = line.assembly
        elif line.match in ("mark", "bore+mark") or line.assembly:
            chooser = JOB_MARK
        kinds = frozenset({line.kind, *(substitute.kind for substitute in line.substitutes)})
        key = kinds, line.match in ("bore", "bore+mark"), chooser
        pieces[key] = pieces.get(key, 0) + line.quantity // (units[chooser] if chooser else 1)
    return [Ask(kinds, bore, chooser, number) for (kinds, bore, chooser), number in pieces.items()]


def _parts(asks: Iterable[Ask]) -> list[list[Ask]]:
    """The asks in groups that have no kind in common."""
    parts: list[tuple[set[str], list[Ask]]] = []
    for ask in asks:
        kinds, joined = set(ask.kinds), [ask]
        for part in [part for part in parts if part[0] & ask.kinds]:
            parts.remove(part)
            kinds |= part[0]
            joined = part[1] + joined
        parts.append((kinds, joined))
    return [joined for _kinds, joined in parts]


def _some(asks: Iterable[Ask]) -> Iterator[tuple[Ask, ...]]:
    """Every set of one or more of them."""
    listed = list(asks)
    return chain.from_iterable(combinations(listed, size) for size in range(1, len(listed) + 1))


class _Part:
    """Asks that share kinds, and what each set of them comes to."""

    def __init__(self, asks: list[Ask], units: Mapping[str, int]) -> None:
        self.of_mark = [
            (chooser, together, sum(ask.pieces for ask in together))
            for chooser in {ask.chooser for ask in asks if ask.chooser is not None}
            for together in _some(ask for ask in asks if ask.chooser == chooser)
        ]
        free = [ask for ask in asks if ask.chooser is ANY_MARK]
        marked = [ask for ask in asks if ask.chooser is not ANY_MARK]
        self.of_all = []
        self.simple = len({ask.chooser for ask in marked}) <= 1
        for together in _some(free):
            within = [ask for ask in marked if _how(ask, together) == "within"]
            self.simple &= all(_how(ask, together) != "across" for ask in marked)
            needed = sum(ask.pieces for ask in together)
            needed += sum(ask.pieces * units[ask.chooser or JOB_MARK] for ask in within)
            self.of_all.append((together, needed))

    def bound_marks(
        self, stock: Mapping[Alike, int], marks: Iterable[str], most: dict[tuple[str, str], int]
    ) -> None:
        """Lower `most`, the stops (or units) of each chooser and mark, to what this part's stock of that mark gives."""
        for chooser, together, needed in self.of_mark:
            have = dict.fromkeys(marks, 0)
            for alike, number in stock.items():
                if alike[2] in have and any(ask.takes(alike) for ask in together):
                    have[alike[2]] += number
            for mark, number in have.items():
                most[chooser, mark] = min(most[chooser, mark], number // needed)

    def bound(self, stock: Mapping[Alike, int]) -> int:
        """What the sets of lines that take any mark allow."""
        most = PLENTY
        for together, needed in self.of_all:
            have = sum(n for alike, n in stock.items() if any(ask.takes(alike) for ask in together))
            most = min(most, have // needed)
        return most


def _how(ask: Ask, together: Iterable[Ask]) -> str:
    """Whether what would do for `ask` all would do for one of the others ("within"), none of it, or some ("across")."""
    sorts = {(kind, suits) for kind in ask.kinds for suits in ((True,) if ask.bore else (True, False))}
    shared = {sort for sort in sorts if any(other.takes((*sort, "")) for other in together)}
    return "within" if shared == sorts else "across" if shared else "apart"
