"""A bound that prices of rows give by weak duality, in whole numbers: it holds whatever the prices are."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kit.planning.exact.highs import Floats, Rows
from kit.planning.exact.model import FREE, Ints

_DENOMINATORS = (1, 2, 3, 4, 6, 12, 60, 5040)


@dataclass(frozen=True, slots=True)
class Bound:
    """No point has a sum below `value` / `scale`; `prices` and `left_over` (cost less prices) show it, both scaled."""

    value: int
    scale: int
    prices: Ints
    left_over: Ints

    def whole(self) -> int:
        """The least whole sum that a point may have."""
        return -(-self.value // self.scale)

    def above(self, cost: Ints, point: Ints) -> int:
        """How much the sum of a point is above the bound, scaled."""
        return self.scale * int(cost @ point) - self.value

    def more_room(self, room: int) -> int:
        """A little more, with at most half of the columns that were out; no limit where those are few."""
        out = np.sort(np.abs(self.left_over)[np.abs(self.left_over) > room])
        if 4 * len(out) < len(self.left_over):
            return FREE
        return min(int(out[len(out) // 2]), 8 * (room + self.scale))


def bound_of(cost: Ints, rows: Rows, low: Ints, high: Ints, prices: Floats) -> Bound:
    """The bound that these prices give, rounded to fractions of the least denominator that suits them all."""
    scale = next(
        (s for s in _DENOMINATORS if np.max(np.abs(prices * s - np.rint(prices * s)), initial=0.0) < 1e-5),
        _DENOMINATORS[-1],
    )
    scaled = np.rint(prices * scale).astype(np.int64)
    scaled[(scaled > 0) & (rows.low <= -FREE)] = 0
    scaled[(scaled < 0) & (rows.high >= FREE)] = 0
    left_over = cost * scale - rows.matrix.T @ scaled
    value = int(np.sum(np.where(scaled > 0, scaled * rows.low, 0)))
    value += int(np.sum(np.where(scaled < 0, scaled * rows.high, 0)))
    value += int(np.sum(np.where(left_over > 0, left_over * low, left_over * high)))
    return Bound(value, scale, scaled, left_over)
