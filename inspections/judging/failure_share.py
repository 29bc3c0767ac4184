"""What share of the pieces failed, and how far such a share can be trusted: few pieces say little."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

CONFIDENCE = 0.95
FEW = 5
"""Fewer pieces than this never stand out, whatever failed of them; common practice, no source. Of one piece that failed
the interval begins at 21 %, so that every such batch would stand above a kind of which a tenth fails.
"""


@dataclass(frozen=True, slots=True)
class FailureShare:
    """`failed` of `tested` pieces, with the interval of the share; all shares from 0 to 1.

    Of no piece tested nothing is known: no share, and an interval from 0 to 1.
    """

    failed: int
    tested: int
    low: float
    high: float

    @property
    def share(self) -> float | None:
        return self.failed / self.tested if self.tested else None

    @property
    def few(self) -> bool:
        return self.tested < FEW

    def above(self, share: float) -> bool:
        """Whether the whole interval lies above that share, and of more than a few pieces."""
        return not self.few and self.low > share


def failure_share(failed: int, tested: int, confidence: float = CONFIDENCE) -> FailureShare:
    """The share that failed with its Wilson score interval (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209-212; the
    formula from memory). It stays within 0 and 1 and holds for few pieces and for none that failed.

    ValueError unless 0 <= failed <= tested and 0 < confidence < 1.
    """
    if not 0 <= failed <= tested:
        raise ValueError(f"{failed} of {tested} pieces cannot have failed")
    if not 0 < confidence < 1:
        raise ValueError(f"no confidence: {confidence}")
    if not tested:
        return FailureShare(0, 0, 0.0, 1.0)
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share = failed / tested
    weight = 1 + z * z / tested
    middle = (share + z * z / (2 * tested)) / weight
    reach = z * sqrt(share * (1 - share) / tested + z * z / (4 * tested * tested)) / weight
    # At the ends the formula gives 0 and 1 themselves, but for the rounding of its sums.
    low = 0.0 if failed == 0 else max(0.0, middle - reach)
    high = 1.0 if failed == tested else min(1.0, middle + reach)
    return FailureShare(failed, tested, low, high)
