"""The best choice of items for the lines of a job, exact and the same on every run.

The order in which choices are compared is the design's: (1) fewest pieces short, a shortage falling on the
later line; (2) least sum of days that the chosen stay fit beyond the return; (3) least sum of bore range
widths; (4) first in order when the sorted tags are read line by line.

Why three passes find it, and no search is needed:

1. *How much each line gets.* The sets of pieces that can be placed on the first k lines together are the
   independent sets of a (poly)matroid, so filling the lines one after another, each by augmenting paths
   that never take from an earlier line, gives the first k lines together as much as they can ever get, for
   every k at once. That is both the fewest pieces short and the shortage on the latest line.
2. *Which pieces.* With those amounts fixed, the sets of pieces that can be placed are again independent
   sets of a transversal matroid. A piece costs the same on whatever line it lies, so the cheapest full set
   is found greedily: take the pieces by (days, width) and keep each that can still be placed with those
   kept before. Costs are compared as exact pairs of int and Decimal, never as floats.
3. *Which line each lies on, and which of equals.* Two best choices differ by exchanges along closed walks
   of the residual network whose cost is zero. A walk passes through the store only by putting one piece
   back and taking another of the same cost: no exchange can gain, the choice being best already, so those
   that pass through the store several times split into exchanges of cost zero each. "Can this tag lie on
   this line in some best choice?" is therefore mere reachability. Asking it for the tags in order, line by
   line, and fixing each that can, gives the first in order.

A counted lot is a piece with a quantity: the same passes, moving as many at a time as a path can carry.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import pairwise

from kit.planning.values import NO_LIMIT, Candidate

NO_LIMIT_DAYS = 36_525
"""What an item that no date limits counts, in days from the return to `fit_until` (a hundred years)."""

Cost = tuple[int, Decimal]


@dataclass(frozen=True, slots=True)
class Offer:
    """A piece (or a lot of `quantity` pieces) and the lines, by index, that it can fill."""

    tag: str
    lines: frozenset[int]
    cost: Cost = (0, Decimal(0))
    quantity: int = 1


def cost_of(candidate: Candidate, return_on: date) -> Cost:
    """(days from the return to fit_until, width of the bore range in mm), 0 mm for an item without a range.

    Raises ValueError for an item that is not fit at all: it has no cost because it cannot be chosen.
    """
    fit_until = candidate.fit_until
    if fit_until is None:
        raise ValueError(f"{candidate.tag} is not fit and cannot be chosen; do not offer it")
    days = NO_LIMIT_DAYS if fit_until == NO_LIMIT else (fit_until - return_on).days
    low, high = candidate.bore_min_mm, candidate.bore_max_mm
    return days, Decimal(0) if low is None or high is None else high - low


def match_lines(wanted: Sequence[int], offers: Iterable[Offer]) -> list[dict[str, int]]:
    """The best choice: for each line, in order, tag -> quantity with the tags sorted.

    `wanted` holds the number of pieces each line needs. A line that cannot be filled gets what there is.
    Raises ValueError where two offers carry one tag.
    """
    offers = sorted(offers, key=lambda offer: offer.tag)
    for before, after in pairwise(offers):
        if before.tag == after.tag:
            raise ValueError(f"{after.tag} is offered twice; offer each piece once")
    filling = _Filling(offers, len(wanted))
    filling.open_all(fill_amounts(wanted, offers))
    filling.put_in_order()
    return [
        {offers[piece].tag: quantity for piece, quantity in sorted(placed.items()) if quantity}
        for placed in filling.placed
    ]


def fill_amounts(wanted: Sequence[int], offers: Iterable[Offer]) -> list[int]:
    """How many pieces each line gets in the best choice."""
    filling = _Filling(list(offers), len(wanted))
    for line, amount in enumerate(wanted):
        filling.open_line(line, amount)
    return [sum(placed.values()) for placed in filling.placed]


# A piece handed on: from a line, or from the store (None), to a line, or back to the store (None).
_Step = tuple[int | None, int | None, int]


class _Filling:
    """Pieces on lines and in the store. Lines and pieces are indices; `placed[line][piece]` is a quantity."""

    def __init__(self, offers: Sequence[Offer], lines: int) -> None:
        self.store = [max(offer.quantity, 0) for offer in offers]
        self.cost = [offer.cost for offer in offers]
        self.lines_of = [sorted(offer.lines) for offer in offers]
        self.by_cost = sorted(range(len(offers)), key=self.cost.__getitem__)
        self.of_cost: dict[Cost, list[int]] = {}
        for piece in self.by_cost:
            self.of_cost.setdefault(self.cost[piece], []).append(piece)
        self.room = [0] * lines
        self.placed: list[dict[int, int]] = [{} for _ in range(lines)]
        self.fixed: list[dict[int, int]] = [{} for _ in range(lines)]
        self.closed: set[int] = set()

    def open_line(self, line: int, amount: int) -> None:
        """Pass 1, one line: give it up to `amount` pieces, taking none from the lines opened before."""
        self.room[line] = amount
        self._place_cheapest()
        self.room[line] = 0

    def open_all(self, amounts: Sequence[int]) -> None:
        """Pass 2: fill these amounts, known to be possible, with the cheapest pieces."""
        self.room = list(amounts)
        self._place_cheapest()

    def _place_cheapest(self) -> None:
        # Each piece is tried once: what cannot be placed beside some pieces cannot be placed beside more.
        self.closed.clear()
        for piece in self.by_cost:
            if not any(self.room):
                return
            while self.store[piece] and self._place(piece):
                pass

    def _place(self, piece: int) -> bool:
        """Place some of `piece` where there is room, moving placed pieces between lines where need be."""
        came_by: dict[int, tuple[int | None, int]] = {}
        queue: list[int] = []

        def spread(moved: int, giver: int | None) -> None:
            for line in self.lines_of[moved]:
                if line not in came_by and line not in self.closed:
                    came_by[line] = (giver, moved)
                    queue.append(line)

        spread(piece, None)
        for target in queue:
            if self.room[target]:
                steps: list[_Step] = []
                receiver: int | None = target
                while receiver is not None:
                    giver, moved = came_by[receiver]
                    steps.append((giver, receiver, moved))
                    receiver = giver
                self.room[target] -= self._hand_on(steps, self.room[target])
                return True
            for moved, quantity in self.placed[target].items():
                if quantity:
                    spread(moved, target)
        # No way out of these lines to any room: until another line opens, no piece placed there helps.
        self.closed.update(queue)
        return False

    def put_in_order(self) -> None:
        """Pass 3: of the best choices, the one whose sorted tags, line by line, come first.

        Relies on the pieces being in the order of their tags.
        """
        for line in range(len(self.room)):
            while reach := self._exchanges(line):
                piece = min(piece for piece in reach if line in self.lines_of[piece])
                self.fixed[line][piece] = self.placed[line].get(piece, 0)
                while more := self._exchanges(line).get(piece):
                    giver, steps = more
                    self.fixed[line][piece] += self._hand_on([*steps, (giver, line, piece)])

    def _exchanges(self, line: int) -> dict[int, tuple[int | None, tuple[_Step, ...]]]:
        """The pieces that `line` can have for one not fixed to it, at no cost and with all else filled.

        For each: who gives it, and the steps that make up for it. None once all that the line holds is fixed.
        """
        reach: dict[int, tuple[int | None, tuple[_Step, ...]]] = {}
        steps_to: dict[int, tuple[_Step, ...]] = {line: ()}
        queue = [line]
        swapped: set[Cost] = set()

        def arrive(piece: int, giver: int | None, steps: tuple[_Step, ...]) -> None:
            reach[piece] = (giver, steps)
            for other_line in self.lines_of[piece]:
                if other_line not in steps_to:
                    steps_to[other_line] = (*steps, (giver, other_line, piece))
                    queue.append(other_line)

        for giver in queue:
            for piece in self.placed[giver]:
                if piece in reach or not self._loose(giver, piece):
                    continue
                arrive(piece, giver, steps_to[giver])
                cost = self.cost[piece]
                if cost not in swapped:
                    swapped.add(cost)
                    put_back = (*steps_to[giver], (giver, None, piece))
                    for other in self.of_cost[cost]:
                        if self.store[other] and other not in reach:
                            arrive(other, None, put_back)
        return reach

    def _loose(self, line: int, piece: int) -> int:
        return self.placed[line].get(piece, 0) - self.fixed[line].get(piece, 0)

    def _hand_on(self, steps: Sequence[_Step], limit: int | None = None) -> int:
        """Take all steps at once, with as many pieces as every giver can spare; the number handed on."""
        spare = [
            self.store[piece] if giver is None else self._loose(giver, piece) for giver, _, piece in steps
        ]
        amount = min(spare) if limit is None else min(limit, *spare)
        for giver, receiver, piece in steps:
            if giver is None:
                self.store[piece] -= amount
            else:
                self.placed[giver][piece] -= amount
            if receiver is None:
                self.store[piece] += amount
            else:
                self.placed[receiver][piece] = self.placed[receiver].get(piece, 0) + amount
        return amount
