"""What one placing of pieces is worth: the ordered objective, counted exactly, without a solver."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from kit.planning.exact.problem import Problem

Placing = Sequence[Mapping[int, int]]
"""For each slot: place of the option in `Problem.options` -> how many pieces."""


@dataclass(frozen=True, slots=True, order=True)
class Score:
    """The ordered objective, least first: compare two scores of one problem with <.

    `weight_short` is the sum of the weights of jobs short; `shortages` is what each slot is short, in order; `tags`
    the sorted tags of each slot, a lot's once a piece.
    """

    weight_short: int
    pieces_short: int
    changes: int
    works: int
    shortages: tuple[int, ...]
    ranks: int
    days: int
    widths: int
    tags: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """The answer. `placed`: for each slot, tag -> quantity with the tags sorted; `works`: keys of the works to do.

    `proven`: every sum of the objective is proven least in every part; `gap`: at most this share of the first sum
    not proven could still be gained, 0.0 if all are. `ties_settled`: of equally good answers this is the first in
    order. `parts`: into how many independent parts the problem fell.
    """

    placed: tuple[dict[str, int], ...]
    works: tuple[str, ...]
    score: Score
    jobs_short: int
    proven: bool
    gap: float
    ties_settled: bool
    parts: int


def score_of(problem: Problem, placing: Placing, works: Collection[str] = ()) -> Score:
    """The ordered objective of a placing and of the works it counts on; whether they are allowed is not looked at."""
    short = tuple(
        slot.quantity - sum(placed.values()) for slot, placed in zip(problem.slots, placing, strict=True)
    )
    jobs_short = {slot.job for slot, lacking in zip(problem.slots, short, strict=True) if lacking > 0}
    on: dict[tuple[str, int], int] = {}
    ranks = days = widths = 0
    tags: list[tuple[str, ...]] = []
    for slot, placed in enumerate(placing):
        listed: list[str] = []
        for place, quantity in placed.items():
            option = problem.options[place]
            on[option.piece, slot] = on.get((option.piece, slot), 0) + quantity
            ranks += option.rank * quantity
            days += option.days * quantity
            widths += option.width * quantity
            listed.extend([option.piece] * quantity)
        tags.append(tuple(sorted(listed)))
    return Score(
        weight_short=sum(problem.jobs[job].weight for job in jobs_short),
        pieces_short=sum(short),
        changes=sum(
            max(promise.quantity - on.get((promise.piece, promise.slot), 0), 0)
            for promise in problem.promised
        ),
        works=len(set(works)),
        shortages=short,
        ranks=ranks,
        days=days,
        widths=widths,
        tags=tuple(tags),
    )
