"""HiGHS through scipy: one sum made least over whole numbers, or over any numbers with the prices that prove it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kit.planning.exact.model import FREE, Ints

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rows:
    """low <= matrix x point <= high; the matrix is a scipy csr_array of integers, FREE stands for no limit."""

    matrix: Any
    low: Ints
    high: Ints

    def kept_by(self, point: Ints) -> bool:
        """Whether a whole point keeps every row, in exact arithmetic."""
        sums = self.matrix @ point
        return bool(np.all(sums >= self.low) and np.all(sums <= self.high))


def least_whole(
    cost: Ints, rows: Rows, low: Ints, high: Ints, seconds: float
) -> tuple[Ints | None, float, bool]:
    """(point, bound, done): the whole point with the least sum, as far as found in `seconds`; none below `bound`.

    Done without a point: there is none. Raises RuntimeError where the solver gives up for another reason.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        cost.astype(float),
        integrality=np.ones(len(cost)),
        bounds=Bounds(low, high),
        constraints=LinearConstraint(rows.matrix.astype(float), _open(rows.low), _open(rows.high)),
        options={"mip_rel_gap": 0.0, "time_limit": seconds},
    )
    if found.status == 2:
        return None, inf, True
    if found.status not in (0, 1):
        raise RuntimeError(f"the solver gave up on a part: {found.message}")
    point = None if found.x is None else np.rint(found.x).astype(np.int64)
    bound = -inf if found.mip_dual_bound is None else float(found.mip_dual_bound)
    return point, bound, found.status == 0


def least_relaxed(cost: Ints, rows: Rows, low: Ints, high: Ints) -> tuple[Floats, Floats] | None:
    """(point, price of each row) of the same over all numbers, not only whole ones; None if it could not be had."""
    from scipy.optimize import linprog
    from scipy.sparse import vstack

    same = rows.low == rows.high
    below = ~same & (rows.high < FREE)
    above = ~same & (rows.low > -FREE)
    matrix = rows.matrix.astype(float)
    found = linprog(
        cost.astype(float),
        A_ub=vstack([matrix[below], -matrix[above]]) if (below | above).any() else None,
        b_ub=np.concatenate([rows.high[below], -rows.low[above]]) if (below | above).any() else None,
        A_eq=matrix[same] if same.any() else None,
        b_eq=rows.high[same] if same.any() else None,
        bounds=np.column_stack([low, high]),
        method="highs-ds",
    )
    if found.status != 0:
        return None
    prices = np.zeros(len(rows.low))
    if (below | above).any():
        count = int(below.sum())
        prices[below] += np.minimum(found.ineqlin.marginals[:count], 0)
        prices[above] -= np.minimum(found.ineqlin.marginals[count:], 0)
    if same.any():
        prices[same] += found.eqlin.marginals
    return found.x, prices


def _open(limits: Ints) -> Floats:
    found = limits.astype(float)
    found[limits >= FREE] = inf
    found[limits <= -FREE] = -inf
    return found
