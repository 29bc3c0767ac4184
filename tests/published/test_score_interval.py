"""The bounds of a share that failed, against worked values in print.

From R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17 (1998),
method 3 (score without continuity correction), quoted from memory.
"""

from __future__ import annotations

import pytest

from inspections.judging.failure_share import failure_share


@pytest.mark.parametrize(
    ("failed", "tested", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_it_gives_the_worked_values(failed: int, tested: int, low: float, high: float):
    share = failure_share(failed, tested)
    assert (round(share.low, 4), round(share.high, 4)) == (low, high)
