"""A season of 200 jobs and 2,000 pieces is rearranged within half a minute and a gigabyte, each part proven.

The time is that of the processors, of all threads together: a clock on the wall tells more of who else is at work.
"""

from __future__ import annotations

import subprocess
import sys

SAYS = """
import resource
from time import process_time
from kit.planning.rearranging import rearrange
from kit.processors import limits_here
from tests.bench.season import make_season
season = make_season(200, 2000)
began = process_time()
plan = rearrange(season, limits_here())
print(process_time() - began, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, plan.gap)
"""


def test_half_a_minute_and_a_gigabyte() -> None:
    # In a process of its own: what others have used before is not counted.
    done = subprocess.run([sys.executable, "-c", SAYS], capture_output=True, text=True, check=True)
    seconds, megabytes, gap = map(float, done.stdout.split())
    assert seconds < 30
    assert megabytes < 1024
    assert gap <= 0.01
