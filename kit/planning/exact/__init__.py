"""The exact core: which pieces go on which lines of which jobs, for one job or for all of a season.

    solution = solve(Problem(jobs, slots, pieces, options, promised))
    solution.placed[slot]      tag -> quantity, for each slot
    solution.score             the ordered objective, each level exact
    solution.proven, .gap      whether every level is proven least, and how far off it may be if not

`problem.py` says what is asked, `score.py` what one arrangement is worth, `parts.py` how a problem falls apart, and
`levels.py` how one part is settled, level after level, by HiGHS. With one job, no promises and nothing that couples
pieces the answer is that of `kit.planning.matching`.
"""

from kit.planning.exact.alike import meet
from kit.planning.exact.limits import USUAL, Limits
from kit.planning.exact.problem import Job, Option, Piece, Problem, Promised, Slot, Work
from kit.planning.exact.score import Placing, Score, Solution, score_of
from kit.planning.exact.settling import solve

__all__ = [
    "USUAL",
    "Job",
    "Limits",
    "Option",
    "Piece",
    "Placing",
    "Problem",
    "Promised",
    "Score",
    "Slot",
    "Solution",
    "Work",
    "meet",
    "score_of",
    "solve",
]
