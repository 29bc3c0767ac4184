"""How hard the exact core tries: named settings, none of which changes what a proven answer is."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """`seconds_a_solve`: how long HiGHS may take for one level of one part; what it has by then is kept, with the gap.

    `ties_columns`: a part of which more choices than this are still open after all sums are settled keeps one of
    the equally good answers, and the solution says so. `relax_from`: from so many choices on a level is first
    solved without asking for whole numbers, and what that proves is used. `split`: settle independent parts apart.
    `workers`: so many parts at a time.
    """

    seconds_a_solve: float = 20.0
    ties_columns: int = 1_000
    relax_from: int = 300
    split: bool = True
    workers: int = 1


USUAL = Limits()
