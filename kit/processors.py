"""How many processors there are to plan with; planning itself asks no machine."""

from __future__ import annotations

import os
from dataclasses import replace

from kit.planning.exact import USUAL, Limits


def processors() -> int:
    """How many processors this process may use, where the system tells; else how many there are."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def limits_here() -> Limits:
    """The usual limits, with as many parts settled at a time as there are processors."""
    return replace(USUAL, workers=processors())
