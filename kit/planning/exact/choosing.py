"""Which pieces go, once it is settled how many each slot gets: sums, and of equally good answers the first in order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.planning.exact.alike import Alike, left_open
from kit.planning.exact.limits import Limits
from kit.planning.exact.parts import Part, split
from kit.planning.exact.problem import Problem

if TYPE_CHECKING:
    from kit.planning.exact.levels import Descent

Placed = dict[int, dict[int, int]]


@dataclass(slots=True)
class Settled:
    """What is placed of some part, the works that are done for it, and what of it is proven."""

    placed: Placed = field(default_factory=dict)
    works: set[str] = field(default_factory=set)
    proven: bool = True
    gap: float = 0.0
    ties_settled: bool = True

    def take(self, other: Settled) -> None:
        """Add what is settled of another part."""
        self.placed.update(other.placed)
        self.works |= other.works
        self.proven = self.proven and other.proven
        self.gap = max(self.gap, other.gap)
        self.ties_settled = self.ties_settled and other.ties_settled

    def note(self, descent: Descent) -> None:
        """Note what a descent has not proven."""
        self.proven = self.proven and descent.proven
        self.gap = max(self.gap, descent.gap)


class Choice:
    """How the parts of one problem are chosen for. `alike`: its lines that may be taken as one; None: none are."""

    def __init__(self, problem: Problem, limits: Limits, alike: Alike | None) -> None:
        self.problem, self.limits, self.alike = problem, limits, alike

    def begin(
        self,
        part: Part,
        placed: Placed,
        works: Collection[str] = (),
        amounts: Mapping[int, int] | None = None,
        problem: Problem | None = None,
    ) -> Descent:
        """A part as a model, at the point of a placing and of works done."""
        # Loading HiGHS takes a moment, which a command that chooses nothing should not pay.
        from kit.planning.exact.levels import Descent
        from kit.planning.exact.model import Model

        model = Model(problem or self.problem, part, amounts)
        return Descent(model, model.point(placed, works), self.limits)

    def coarse(self, part: Part, amounts: Mapping[int, int]) -> tuple[Problem, Part]:
        """The part with lines that are alike as one, if that may be."""
        if self.alike is None or not self.alike.holds_with(amounts):
            return self.problem, part
        return self.alike.coarse, self.alike.part(part)

    def spread(self, part: Part, problem: Problem, placed: Placed, amounts: Mapping[int, int]) -> Placed:
        """What is placed on lines that are taken as one, on each of them."""
        if self.alike is None or problem is self.problem:
            return placed
        return self.alike.spread(part, placed, amounts)

    def finish(self, part: Part, placed: Placed, works: Collection[str]) -> Settled:
        """Which pieces, the amount of each slot being settled and as `placed` has it.

        What the sums leave open falls into smaller parts, each of which is settled by itself.
        """
        amounts = {slot: sum(placed.get(slot, {}).values()) for slot in part.slots}
        options = self.problem.options
        if self.alike is None or any(
            options[place].works or options[place].barred_by for place in part.options
        ):
            return self._choose(part, placed, works)
        problem, coarse = self.coarse(part, amounts)
        start = placed
        if problem is not self.problem:
            start = self.alike.gathered(part, placed)
            amounts = {slot: sum(start.get(slot, {}).values()) for slot in coarse.slots}
        descent = self.begin(coarse, start, amounts=amounts, problem=problem)
        self._sums(descent, amounts)
        found = Settled()
        found.note(descent)
        open_still = left_open(descent.model, descent.low, descent.high, amounts)
        if problem is self.problem:
            left = [place for place in part.options if place in open_still]
        else:
            left = [place for place in part.options if self.alike.coarse_place[place] in open_still]
        mine = {slot: sum(placed.get(slot, {}).values()) for slot in part.slots}
        start = self.spread(part, problem, descent.model.placing(descent.point), mine)
        for each in split(self.problem, left, part.slots):
            if each.options:
                found.take(self._choose(each, {slot: start[slot] for slot in each.slots}, (), known=True))
        return found

    def _sums(self, descent: Descent, amounts: Mapping[int, int], known: bool = False) -> None:
        """Promises given up, works, ranks, days and widths, one after the other; `known`: they are least already."""
        model = descent.model
        terms, constant = model.changes
        sums = [
            (model.cost(terms), constant),
            (model.cost((column, 1) for column in model.work_columns.values()), 0),
        ]
        for values in (
            [option.rank for option in model.options],
            [option.days for option in model.options],
            [option.width for option in model.options],
        ):
            # Every slot gets the same number of pieces whichever they are: what they all cost at least is left out.
            base = {
                slot: min((values[column] for column in columns), default=0)
                for slot, columns in model.on_slot.items()
            }
            above = [values[c] - base[option.slot] for c, option in enumerate(model.options)]
            sums.append((model.of_options(above), sum(base[slot] * amounts[slot] for slot in amounts)))
        for cost, constant in sums:
            if known:
                descent.hold(cost)
            else:
                descent.least(cost, constant)

    def _choose(self, part: Part, placed: Placed, works: Collection[str], known: bool = False) -> Settled:
        """The whole of it for one part in one piece: sums, and of equally good answers the first in order.

        `known`: the sums of what is placed are least already.
        """
        from kit.planning.exact.levels import Turn

        amounts = {slot: sum(placed.get(slot, {}).values()) for slot in part.slots}
        if not works and _no_choice(self.problem, part, amounts):
            return Settled({slot: dict(placed[slot]) for slot in part.slots})
        descent = self.begin(part, placed, works, amounts)
        model = descent.model
        self._sums(descent, amounts, known)
        found = Settled()
        if descent.open_columns() <= self.limits.ties_columns:
            self._first_in_order(descent, amounts)
        else:
            found.ties_settled = False
        descent.first_in_order([Turn((([column], -1),), -1, 1) for column in model.work_columns.values()])
        found.note(descent)
        found.placed.update(model.placing(descent.point))
        found.works |= model.works_done(descent.point)
        return found

    def _first_in_order(self, descent: Descent, amounts: Mapping[int, int]) -> None:
        """Of the best placings, the first when the sorted tags are read slot by slot: as many as can be of the
        first tag of the first slot, then of the next."""
        from kit.planning.exact.levels import Turn

        model = descent.model
        turns: list[Turn] = []
        for slot, columns in model.on_slot.items():
            of_tag: dict[str, list[int]] = defaultdict(list)
            for column in columns:
                if descent.low[column] < descent.high[column]:
                    of_tag[model.options[column].piece].append(column)
            listed = sorted(of_tag.items())
            if amounts[slot] - int(descent.low[columns].sum()) == 1:
                # It takes one more: the earlier in order, the better.
                turns.append(Turn(tuple((of, at) for at, (_, of) in enumerate(listed)), 0, len(listed) - 1))
            else:
                for tag, of in listed:
                    most = min(model.pieces[tag].quantity, amounts[slot])
                    turns.append(Turn(((of, -1),), -most, most))
        descent.first_in_order(turns)


def _no_choice(problem: Problem, part: Part, amounts: Mapping[int, int]) -> bool:
    """Whether each slot has just as many single pieces to choose from as it gets."""
    lots = {piece.tag for piece in problem.pieces if piece.lot}
    offered: dict[int, set[str]] = defaultdict(set)
    for place in part.options:
        option = problem.options[place]
        if option.piece in lots or option.piece in offered[option.slot] or option.works:
            return False
        offered[option.slot].add(option.piece)
    return all(len(offered[slot]) == amounts[slot] for slot in part.slots)
