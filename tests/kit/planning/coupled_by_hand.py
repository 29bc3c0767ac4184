"""A job whose lines are coupled, answered the long way: every placing of every piece is tried.

Written from the rules in words. It shares nothing with the code under test but the values: no solver, no matching.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import product

from kit.planning.values import Candidate, Held, Line, Need
from tests.kit.planning import by_hand

Placing = dict[tuple[str, int], int]  # (tag, place of the line) -> how many


def seen_by(line: Line, kind: str) -> tuple[int, Line] | None:
    """The rank of a kind on a line and the line with that kind's days; None if the line does not take it."""
    if kind == line.kind:
        return 0, line
    for other in line.substitutes:
        if other.kind == kind:
            days = {"margin_days": other.margin_days, "turn_round_days": other.turn_round_days}
            return other.rank, replace(line, kind=kind, **days)
    return None


def codes_alone(piece: Candidate, line: Line, need: Need, as_of: date) -> list[str]:
    """What speaks against a piece by itself."""
    found = by_hand.codes(piece, line, need, as_of)
    if line.assembly and not piece.mark.strip() and "wrong-mark" not in found:
        found.append("wrong-mark")
    return sorted(found)


@dataclass
class ByHand:
    """One question. `register` holds every piece there is, in any depot."""

    need: Need
    register: Sequence[Candidate]
    as_of: date
    held: Sequence[Held] = ()

    def __post_init__(self) -> None:
        self.pieces = {piece.tag: piece for piece in self.register}
        self.held_tags = {each.tag for each in self.held}
        self.here = sorted(by_hand.here(self.register, self.need), key=lambda piece: piece.tag)
        self.on_line = [[h for h in self.held if h.line == line.name] for line in self.need.lines]

    def against(self, piece: Candidate) -> dict[int, list[str]]:
        """For each line that takes its kind, what speaks against the piece by itself."""
        return {
            place: codes_alone(piece, seen[1], self.need, self.as_of)
            for place, line in enumerate(self.need.lines)
            if (seen := seen_by(line, piece.kind))
        }

    def fits(self, piece: Candidate) -> list[int]:
        away = piece not in self.here
        return [] if away else [place for place, codes in self.against(piece).items() if not codes]

    def rest_of_set(self, piece: Candidate) -> list[Candidate]:
        """The whole set of a piece, less what the job holds."""
        return [
            other
            for other in self.register
            if piece.set_name
            and (other.depot, other.set_name) == (piece.depot, piece.set_name)
            and other.tag not in self.held_tags
        ]

    def kept_back(self, piece: Candidate) -> bool:
        """Whether the piece is refused because its set cannot go as a whole."""
        members = self.rest_of_set(piece)
        if piece.tag in self.held_tags or len(members) < 2:
            return False
        if any(not self.fits(other) for other in members if other.tag != piece.tag):
            return True
        if not self.fits(piece):
            return False
        full = [line.quantity for line in self.need.lines]
        for places in product(*(self.fits(member) for member in members)):
            counts = Counter(places)
            placing = Counter((m.tag, place) for m, place in zip(members, places, strict=True))
            if all(counts[place] <= full[place] for place in counts) and self.made_up(placing, held=()):
                return False
        return True

    def made_up(self, placing: Placing, held: Sequence[Held] | None = None) -> bool:
        """Whether what is placed, beside what is held, makes up units of one mark in every assembly."""
        for name in {line.assembly for line in self.need.lines if line.assembly}:
            lines = [place for place, line in enumerate(self.need.lines) if line.assembly == name]
            quantities = [self.need.lines[place].quantity for place in lines]
            units = max(n for n in range(1, min(quantities) + 1) if not any(q % n for q in quantities))
            a_unit = {place: self.need.lines[place].quantity // units for place in lines}
            lies: Counter[tuple[int, str]] = Counter()
            for each in self.held if held is None else held:
                for place in lines:
                    if self.need.lines[place].name == each.line and self.mark(each.tag):
                        lies[place, self.mark(each.tag)] += each.quantity
            room = max(units, _least_units(lies, a_unit))
            for (tag, place), count in placing.items():
                if place in a_unit:
                    if not self.mark(tag):
                        return False
                    lies[place, self.mark(tag)] += count
            if _least_units(lies, a_unit) > room:
                return False
        return True

    def mark(self, tag: str) -> str:
        return self.pieces[tag].mark.strip().lower()

    def _placings(self) -> Iterator[Placing]:
        room = [
            max(line.quantity - sum(each.quantity for each in lies), 0)
            for line, lies in zip(self.need.lines, self.on_line, strict=True)
        ]
        free = []
        for piece in self.here:
            left = piece.quantity - sum(each.quantity for each in self.held if each.tag == piece.tag)
            if (places := self.fits(piece)) and left > 0:
                counted = self.need.lines[places[0]].counted
                free.append((piece, places, left if counted else min(left, 1)))

        def go(number: int, room: list[int], so_far: Placing) -> Iterator[Placing]:
            if number == len(free):
                yield so_far
                return
            piece, places, left = free[number]
            for amounts in product(*(range(min(left, room[place]) + 1) for place in places)):
                if sum(amounts) <= left:
                    after = list(room)
                    for place, amount in zip(places, amounts, strict=True):
                        after[place] -= amount
                    new = {(piece.tag, place): n for place, n in zip(places, amounts, strict=True) if n}
                    yield from go(number + 1, after, so_far | new)

        yield from go(0, room, {})

    def _whole(self, placing: Placing) -> bool:
        going = {tag for tag, _ in placing}
        return all(other.tag in going for tag in going for other in self.rest_of_set(self.pieces[tag]))

    def _score(self, placing: Placing) -> tuple:
        on: list[Counter[str]] = [Counter() for _ in self.need.lines]
        for place, lies in enumerate(self.on_line):
            on[place].update({each.tag: each.quantity for each in lies})
        ranks = days = 0
        width = Decimal(0)
        for (tag, place), count in placing.items():
            piece = self.pieces[tag]
            on[place][tag] += count
            seen = seen_by(self.need.lines[place], piece.kind)
            assert seen is not None
            ranks += seen[0] * count
            days += by_hand._days_left(piece, self.need) * count
            width += by_hand._width(piece) * count
        short = tuple(
            max(line.quantity - lies.total(), 0) for line, lies in zip(self.need.lines, on, strict=True)
        )
        tags = tuple(tuple(sorted(lies.elements())) for lies in on)
        return sum(short), short, ranks, days, width, tags

    def best(self) -> tuple[by_hand.Choice, tuple[int, ...]]:
        """The tags on each line in the best choice, those held with them, and what each line is short."""
        scores = (
            self._score(placing)
            for placing in self._placings()
            if self._whole(placing) and self.made_up(placing)
        )
        best = min(scores)
        return best[5], best[1]


def _least_units(lies: Counter[tuple[int, str]], a_unit: dict[int, int]) -> int:
    """How many units of one mark each it takes to hold what lies there, counted up mark by mark."""
    total = 0
    for mark in {mark for _, mark in lies}:
        count = 0
        while any(lies[place, mark] > size * count for place, size in a_unit.items()):
            count += 1
        total += count
    return total
