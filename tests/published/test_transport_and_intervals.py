"""The exact core on problems whose answer is in print: transport, assignment, and the fewest machines for intervals."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from kit.planning.exact import Job, Limits, Option, Piece, Problem, Slot, solve
from tests.counts import cases

RELAXED_FIRST = Limits(relax_from=1)


def transport(supply: list[int], demand: list[int], cost: list[list[int]], lots: bool = True) -> Problem:
    """Lots (or pieces) as sources, slots of one job as sinks, the cost of a unit as its days."""
    return Problem(
        jobs=(Job("J"),),
        slots=tuple(Slot(0, f"sink {n}", quantity) for n, quantity in enumerate(demand)),
        pieces=tuple(Piece(f"S{n}", quantity, lot=lots) for n, quantity in enumerate(supply)),
        options=tuple(
            Option(f"S{source}", sink, days=days)
            for source, row in enumerate(cost)
            for sink, days in enumerate(row)
        ),
    )


# Winston, Operations Research: Applications and Algorithms, chapter on transportation, the power company with three
# plants and four cities, least cost 1020; and the machine company with four machines and four jobs, 15 hours. Figures
# from memory; that these are the least costs is checked by the test itself against an algorithm of another kind.
POWER = ([35, 50, 40], [45, 20, 30, 30], [[8, 6, 10, 9], [9, 12, 13, 7], [14, 9, 16, 5]], 1020)
MACHINES = ([1] * 4, [1] * 4, [[14, 5, 8, 7], [2, 12, 6, 5], [7, 8, 3, 9], [2, 4, 6, 10]], 15)
# The documentation of scipy.optimize.linear_sum_assignment: rows 0, 1, 2 to columns 1, 0, 2 at a cost of 5.
SCIPY = ([1] * 3, [1] * 3, [[4, 1, 3], [2, 0, 5], [3, 2, 2]], 5)


@pytest.mark.parametrize("limits", [Limits(), RELAXED_FIRST], ids=["whole", "relaxed first"])
@pytest.mark.parametrize("instance", [POWER, MACHINES, SCIPY], ids=["power", "machines", "scipy"])
def test_least_cost_in_print(instance: tuple, limits: Limits) -> None:
    supply, demand, cost, least = instance
    found = solve(transport(supply, demand, cost), limits)
    assert found.score.days == least
    assert found.score.pieces_short == 0
    assert found.proven
    # As an assignment of single units the Hungarian algorithm's successor gives the same.
    units = np.repeat(np.repeat(np.array(cost), supply, axis=0), demand, axis=1)
    rows, columns = linear_sum_assignment(units)
    assert units[rows, columns].sum() == least


def test_assignment_equals_another_algorithm() -> None:
    for seed in range(cases(40)):
        draw = Random(seed)
        size = draw.randint(2, 9)
        cost = [[draw.randint(0, 30) for _ in range(size)] for _ in range(size)]
        found = solve(transport([1] * size, [1] * size, cost, lots=False), RELAXED_FIRST)
        rows, columns = linear_sum_assignment(np.array(cost))
        assert found.score.days == int(np.array(cost)[rows, columns].sum()), seed


def intervals(windows: list[tuple[int, int]], pieces: int) -> Problem:
    return Problem(
        jobs=tuple(Job(f"J{n}") for n in range(len(windows))),
        slots=tuple(Slot(n, "gauge", 1) for n in range(len(windows))),
        pieces=tuple(Piece(f"G{n}") for n in range(pieces)),
        options=tuple(
            Option(f"G{piece}", slot, starts=starts, ends=ends)
            for slot, (starts, ends) in enumerate(windows)
            for piece in range(pieces)
        ),
    )


def test_fewest_pieces_is_the_greatest_overlap() -> None:
    """Kleinberg and Tardos, Algorithm Design, 4.1: interval partitioning needs as many resources as the depth."""
    for seed in range(cases(40)):
        draw = Random(seed)
        windows = sorted(
            (starts, starts + draw.randint(0, 6))
            for starts in (draw.randint(0, 30) for _ in range(draw.randint(2, 14)))
        )
        depth = max(sum(s <= day <= e for s, e in windows) for day in range(40))
        assert solve(intervals(windows, depth)).score.pieces_short == 0, seed
        if depth > 1:
            assert solve(intervals(windows, depth - 1)).score.pieces_short > 0, seed


def greatest_family(windows: list[tuple[int, int]]) -> int:
    """The most windows of which no two meet, by taking what ends first (Kleinberg and Tardos, 4.1)."""
    count, free_from = 0, -1
    for starts, ends in sorted(windows, key=lambda window: window[1]):
        if starts > free_from:
            count, free_from = count + 1, ends
    return count


def test_one_piece_serves_as_many_as_taking_what_ends_first() -> None:
    for seed in range(cases(40)):
        draw = Random(1000 + seed)
        windows = sorted(
            (starts, starts + draw.randint(0, 8))
            for starts in (draw.randint(0, 30) for _ in range(draw.randint(1, 14)))
        )
        found = solve(intervals(windows, 1))
        assert len(windows) - found.score.pieces_short == greatest_family(windows), seed
