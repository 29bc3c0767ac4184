"""Planning: which item goes on which job, and why another does not. Pure: no Django, no clock, no file."""

from kit.planning.fitness import NO_LIMIT, Fitness, judge_fitness
from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise, Reason

__all__ = [
    "NO_LIMIT",
    "Candidate",
    "Fitness",
    "Gate",
    "Held",
    "Line",
    "Need",
    "Promise",
    "Reason",
    "judge_fitness",
]
