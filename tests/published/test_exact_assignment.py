"""The choice of pieces for lines against an assignment solver that others wrote and many use.

Source: SciPy, scipy.optimize.linear_sum_assignment (its documentation's example: least cost 5) and
scipy.sparse.csgraph.maximum_bipartite_matching. The first test shows that the solver, as installed, gives
the documented answer; the others that our choice costs what the solver's does, and that each line gets what
it can.
"""

import json
import random
from decimal import Decimal
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from kit.planning.matching import Offer, fill_amounts, match_lines
from tests.counts import cases

VALUES = json.loads((Path(__file__).parent / "values.json").read_text())
(EXAMPLE,) = [value for value in VALUES if value["id"] == "assign-3x3"]

WIDTH_STEPS = 10_000
"""More tenths of a millimetre than all widths of a case together, so that a day outweighs them in one number."""


def test_the_solver_gives_the_documented_least_cost() -> None:
    """Source: SciPy documentation of linear_sum_assignment; the same by trying all six orders."""
    cost = np.array(EXAMPLE["inputs"])
    rows, columns = linear_sum_assignment(cost)
    assert cost[rows, columns].sum() == EXAMPLE["expected"]
    orders = permutations(range(3))
    assert min(cost[range(3), order].sum() for order in orders) == EXAMPLE["expected"]


def _case(seed: int) -> tuple[list[int], list[Offer]]:
    chance = random.Random(seed)
    lines = chance.randint(1, 8)
    wanted = [chance.randint(1, 5) for _ in range(lines)]
    offers = [
        Offer(
            f"T{number:02}",
            frozenset(chance.sample(range(lines), chance.randint(0, min(3, lines)))),
            (chance.randrange(40), Decimal(chance.randrange(20)) / 10),
        )
        for number in range(chance.randint(0, 40))
    ]
    return wanted, offers


def _most_that_fit(wanted: list[int], offers: list[Offer]) -> int:
    """How many pieces can lie on these lines at once, by SciPy."""
    slots = [line for line, amount in enumerate(wanted) for _ in range(amount)]
    if not slots or not offers:
        return 0
    fits = csr_array([[int(slot in offer.lines) for slot in slots] for offer in offers])
    return int((maximum_bipartite_matching(fits, perm_type="column") >= 0).sum())


@pytest.mark.parametrize("seed", range(cases(100)))
def test_every_first_lines_together_get_the_most_that_fit(seed: int) -> None:
    """Source: scipy.sparse.csgraph.maximum_bipartite_matching. A shortage so falls on the latest line it can."""
    wanted, offers = _case(seed)
    filled = fill_amounts(wanted, offers)
    for count in range(1, len(wanted) + 1):
        assert sum(filled[:count]) == _most_that_fit(wanted[:count], offers)


@pytest.mark.parametrize("seed", range(cases(100)))
def test_costs_what_the_solver_s_choice_costs(seed: int) -> None:
    """Source: scipy.optimize.linear_sum_assignment, on as many slots a line as can be filled."""
    wanted, offers = _case(seed)
    slots = [line for line, amount in enumerate(fill_amounts(wanted, offers)) for _ in range(amount)]
    cost_of = {offer.tag: offer.cost[0] * WIDTH_STEPS + int(offer.cost[1] * 10) for offer in offers}
    forbidden = 100 * 40 * WIDTH_STEPS
    cost = np.array(
        [[cost_of[offer.tag] if slot in offer.lines else forbidden for offer in offers] for slot in slots]
    ).reshape(len(slots), len(offers))
    rows, columns = linear_sum_assignment(cost)
    chosen = match_lines(wanted, offers)
    assert sum(cost_of[tag] for line in chosen for tag in line) == cost[rows, columns].sum()
    assert len({tag for line in chosen for tag in line}) == len(slots)
    by_tag = {offer.tag: offer for offer in offers}
    assert all(line in by_tag[tag].lines for line, tags in enumerate(chosen) for tag in tags)
