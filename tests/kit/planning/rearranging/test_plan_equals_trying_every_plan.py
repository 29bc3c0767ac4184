"""The plan is the best there is, ties and all: compared with a search that tries every plan of a small season."""

from __future__ import annotations

from collections import Counter

import pytest

from kit.planning.exact import Limits
from kit.planning.rearranging import Plan, rearrange
from tests.counts import cases
from tests.kit.planning.exact import by_hand
from tests.kit.planning.rearranging.small_seasons import by_other_code, small_season


def _got(plan: Plan) -> list[dict[str, int]]:
    return [dict(line.lots) | dict.fromkeys(line.tags, 1) for job in plan.jobs for line in job.lines]


@pytest.mark.parametrize("limits", [Limits(), Limits(split=False, relax_from=1)], ids=["parts", "whole"])
def test_small_seasons(limits: Limits) -> None:
    met: Counter[str] = Counter()
    for seed in range(cases(60)):
        season = small_season(seed)
        problem = by_other_code(season)
        best, on, _ = by_hand.best(problem)
        plan = rearrange(season, limits)
        assert _got(plan) == on, seed
        short = {problem.slots[place].job for place, lacking in enumerate(best[4]) if lacking}
        # Those that cannot be whole are named, and by how much.
        assert [place for place, job in enumerate(plan.jobs) if job.short] == sorted(short), seed
        assert [line.short for job in plan.jobs for line in job.lines] == list(best[4]), seed
        assert (plan.jobs_short, plan.pieces_short, plan.changes) == (len(short), best[1], best[2]), seed
        assert plan.proven, seed
        assert plan.ties_settled, seed
        assert plan.gap == 0.0, seed
        met.update({"short": bool(short), "whole": not short, "changed": best[2] > 0, "kept": best[2] == 0})
    # The seasons are worth trying: each of these comes up.
    assert all(met[name] for name in ("short", "whole", "changed", "kept")), met
