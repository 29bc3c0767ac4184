"""One part settled sum by sum: each is made least, proven least, and held there while the next is made least.

What the solver says is never taken on trust: its point is rounded and checked against every row in whole numbers.
Its proof is, where it can be had, replaced by an exact one. Prices of the rows, rounded to fractions of one
denominator, give a bound by weak duality, whatever they are; where that bound equals the sum reached, the sum is
proven in whole numbers, and every best answer leaves at zero what costs more than its price and keeps tight what
has one: those are fixed, and the next sum is looked for among few choices.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

import numpy as np
from scipy.sparse import csr_array, vstack

from kit.planning.exact.bound import Bound, bound_of
from kit.planning.exact.highs import Rows, least_relaxed, least_whole
from kit.planning.exact.limits import Limits
from kit.planning.exact.model import FREE, Ints, Model

_MOST_WEIGHT = 2**20


@dataclass(frozen=True, slots=True)
class Turn:
    """A sum of sums of columns, each times a value, that is `best` at least and takes at most `over` + 1 values.

    Where it is as small as can be, each of those sums of columns is settled as well.
    """

    terms: tuple[tuple[Sequence[int], int], ...]
    best: int
    over: int


class Descent:
    """A model, the best point so far, and what is held of the sums settled before.

    `proven` and `gap` tell of the sums so far: the gap is that of the first that is not proven.
    """

    def __init__(self, model: Model, point: Ints, limits: Limits) -> None:
        rows, columns = model.rows, len(model.high)
        matrix = csr_array(
            (np.array(rows.value, dtype=np.int64), (rows.row, rows.column)), shape=(len(rows.low), columns)
        )
        self.model, self.limits, self.point = model, limits, point
        self.rows = Rows(matrix, np.array(rows.low, dtype=np.int64), np.array(rows.high, dtype=np.int64))
        self.low, self.high = np.zeros(columns, dtype=np.int64), np.array(model.high, dtype=np.int64)
        self.proven, self.gap = True, 0.0
        if not self._allowed(point):
            raise RuntimeError("the point to start from breaks a rule of the model")

    def _allowed(self, point: Ints) -> bool:
        within = np.all(point >= self.low) and np.all(point <= self.high)
        return bool(within) and self.rows.kept_by(point)

    def open_columns(self) -> int:
        """How many columns are not fixed yet."""
        return int(np.count_nonzero(self.low < self.high))

    def is_open(self, columns: Sequence[int]) -> bool:
        """Whether any of these columns is not fixed yet."""
        return bool(np.any(self.low[columns] < self.high[columns]))

    def least(self, cost: Ints, constant: int = 0) -> int:
        """Make the sum (cost x point + constant) least, hold it there, and give it."""
        if not self._search(cost, constant):
            self._hold_row(cost)
        return int(cost @ self.point) + constant

    def hold(self, cost: Ints) -> None:
        """Hold the sum at what it is: the point is known to be one where it is least."""
        if self._at_the_floor(cost):
            return
        columns = np.flatnonzero(self.low < self.high)
        point = self.point
        bound = self._relaxed(cost, columns) if len(columns) >= self.limits.relax_from else None
        # Another point with the same sum may be worse in the sums that are held after it.
        self.point = point
        if bound is None or not self._fix_by(cost, columns, bound):
            self._hold_row(cost)

    def _search(self, cost: Ints, constant: int = 0) -> bool:
        """Go to a point where the sum is least; whether that holds it there already."""
        if self._at_the_floor(cost):
            return True
        columns = np.flatnonzero(self.low < self.high)
        whole, cost = cost, np.zeros_like(cost)
        shared = int(np.gcd.reduce(whole[columns]))
        cost[columns] = whole[columns] // shared
        bound = None
        if len(columns) >= self.limits.relax_from:
            bound = self._relaxed(cost, columns)
            if bound is not None and self._core(cost, columns, bound):
                return self._fix_by(cost, columns, bound)
        rows = self._rows_of(columns)
        low, high = self.low[columns], self.high[columns]
        point, least, done = least_whole(cost[columns], rows, low, high, self.limits.seconds_a_solve)
        if done and point is None:
            raise RuntimeError("the solver finds no answer for a part that has one")
        self._take(cost, columns, point)
        if not done or (point is not None and int(cost[columns] @ point) != int(cost @ self.point)):
            least = max(least, -inf if bound is None else bound.whole())
            self._note_gap(cost, least, abs(int(whole @ self.point) + constant) // shared)
        return bound is not None and self._fix_by(cost, columns, bound)

    def _core(self, cost: Ints, columns: Ints, bound: Bound) -> bool:
        """Go to a point with the least sum, looking only where so small a sum can be; whether that was done.

        What the prices say of every point that is at most so much above the bound is taken for granted, so that few
        columns are left. There is often one at the bound itself: that the relaxed point was not whole says little,
        many have the same sum. Where there is none, more room is given, until what is found shows how much is enough.
        """
        room = bound.scale * bound.whole() - bound.value
        while room < (most := bound.above(cost, self.point)):
            before = room = min(room, most - bound.scale)
            point, _, done = self._within(cost, columns, bound, room)
            if not done:
                return False
            self._take(cost, columns, point)
            found = bound.above(cost, self.point)
            if found <= room or room == most - bound.scale:
                return True
            room = found - bound.scale
            if point is None:
                room = min(room, bound.more_room(before))
        return True

    def _within(self, cost: Ints, columns: Ints, bound: Bound, room: int) -> tuple[Ints | None, float, bool]:
        """As `least_whole`, among points with a sum of at most `room` (scaled) above the bound, and others."""
        rows = self._rows_of(columns)
        low, high = self.low[columns], self.high[columns]
        high[bound.left_over > room] = low[bound.left_over > room]
        low[-bound.left_over > room] = high[-bound.left_over > room]
        priced_low, priced_high = bound.prices > 0, bound.prices < 0
        rows.high[priced_low] = np.minimum(
            rows.high[priced_low], rows.low[priced_low] + room // bound.prices[priced_low]
        )
        rows.low[priced_high] = np.maximum(
            rows.low[priced_high], rows.high[priced_high] - room // -bound.prices[priced_high]
        )
        return least_whole(cost[columns], rows, low, high, self.limits.seconds_a_solve)

    def _at_the_floor(self, cost: Ints) -> bool:
        """Whether each column is where it costs least already; then those are fixed that matter."""
        floor = np.where(cost > 0, self.low, self.high)
        matters = cost != 0
        if np.any(self.point[matters] != floor[matters]):
            return False
        self.low[matters] = self.high[matters] = floor[matters]
        return True

    def _rows_of(self, columns: Ints) -> Rows:
        """The rows as they stand for these columns, all others being fixed; rows without any are left out."""
        fixed = self.low.copy()
        fixed[columns] = 0
        part = self.rows.matrix[:, columns].tocsr()
        used = np.flatnonzero(np.diff(part.indptr))
        taken = (self.rows.matrix @ fixed)[used]
        low, high = self.rows.low[used], self.rows.high[used]
        return Rows(
            part[used],
            np.where(low > -FREE, low - taken, -FREE),
            np.where(high < FREE, high - taken, FREE),
        )

    def _take(self, cost: Ints, columns: Ints, part: Ints | None) -> None:
        """Go to a point that is found, if it keeps all rows in whole numbers and is no worse."""
        if part is None:
            return
        point = self.low.copy()
        point[columns] = part
        if self._allowed(point) and int(cost @ point) <= int(cost @ self.point):
            self.point = point

    def _relaxed(self, cost: Ints, columns: Ints) -> Bound | None:
        rows = self._rows_of(columns)
        found = least_relaxed(cost[columns], rows, self.low[columns], self.high[columns])
        if found is None:
            return None
        point, prices = found
        whole = np.rint(point).astype(np.int64)
        if np.max(np.abs(point - whole), initial=0.0) < 1e-6:
            self._take(cost, columns, whole)
        return bound_of(cost[columns], rows, self.low[columns], self.high[columns], prices)

    def _fix_by(self, cost: Ints, columns: Ints, bound: Bound) -> bool:
        """Fix what every point with this proven sum has in common; whether that is all that holds the sum."""
        slack = bound.scale * int(cost @ self.point) - bound.value
        # A column that would cost more than what is left between bound and sum stays where it costs least.
        at_low = columns[bound.left_over > slack]
        at_high = columns[-bound.left_over > slack]
        self.high[at_low] = self.low[at_low]
        self.low[at_high] = self.high[at_high]
        if slack:
            return False
        used = np.flatnonzero(np.diff(self.rows.matrix[:, columns].tocsr().indptr))
        tight_low, tight_high = used[bound.prices > 0], used[bound.prices < 0]
        self.rows.high[tight_low] = self.rows.low[tight_low]
        self.rows.low[tight_high] = self.rows.high[tight_high]
        return True

    def _hold_row(self, cost: Ints) -> None:
        """Hold a sum by a row of its own, in the smallest whole numbers that say the same."""
        cost = np.where(self.low < self.high, cost, 0)
        shared = int(np.gcd.reduce(cost)) or 1
        row = csr_array((cost // shared).reshape(1, -1))
        reached = np.array([int(cost @ self.point) // shared], dtype=np.int64)
        self.rows = Rows(
            csr_array(vstack([self.rows.matrix, row])),
            np.concatenate([self.rows.low, np.array([-FREE])]),
            np.concatenate([self.rows.high, reached]),
        )

    def _note_gap(self, cost: Ints, least: float, of: int) -> None:
        """Note how far off a sum may be that the solver did not prove, as a share `of`; only of the first such sum."""
        reached = int(cost @ self.point)
        floor = int(np.sum(np.where(cost > 0, cost * self.low, cost * self.high)))
        # What the solver computes in floating point is taken to be right to a millionth.
        bound = floor if least == -inf else max(floor, ceil(least - 1e-6 * max(1.0, abs(least))))
        if bound < reached and self.proven:
            self.proven = False
            self.gap = (reached - bound) / max(1, of)

    def first_in_order(self, turns: Sequence[Turn]) -> None:
        """Make the sum of the first turn least, then that of the second, and so on.

        As many are taken at a time as weights can hold apart in one sum.
        """
        left = deque(turns)
        while left:
            # Nothing is to be looked into while all are as good as could be.
            while left and (self._closed(left[0]) or self._at_its_best(left[0])):
                self._settled(left.popleft())
            together: list[Turn] = []
            weight = 1
            while left and (not together or weight * (left[0].over + 1) <= _MOST_WEIGHT):
                turn = left.popleft()
                if not self._closed(turn):
                    together.append(turn)
                    weight *= turn.over + 1
            if together:
                self._weighed(together)

    def _closed(self, turn: Turn) -> bool:
        return turn.over <= 0 or not any(self.is_open(columns) for columns, _ in turn.terms)

    def _at_its_best(self, turn: Turn) -> bool:
        return sum(int(self.point[columns].sum()) * value for columns, value in turn.terms) <= turn.best

    def _settled(self, turn: Turn) -> None:
        for columns, _ in turn.terms:
            if self.is_open(columns):
                self._hold_exactly(columns)

    def _weighed(self, turns: Sequence[Turn]) -> None:
        total = np.zeros(len(self.high), dtype=np.int64)
        weight = 1
        for turn in reversed(turns):
            for columns, value in turn.terms:
                total[columns] += value * weight
            weight *= turn.over + 1
        self._search(total)
        for turn in turns:
            self._settled(turn)

    def _hold_exactly(self, columns: Sequence[int]) -> None:
        """Hold the sum of these columns at what it is now: a single one is fixed, of several the sum is."""
        if len(columns) == 1:
            self.low[columns] = self.high[columns] = self.point[columns]
            return
        cost = np.zeros(len(self.high), dtype=np.int64)
        cost[columns] = 1
        self._hold_row(cost)
        self._hold_row(-cost)
