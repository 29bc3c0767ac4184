"""The whole course: leave out what no answer needs, take the parts one by one, and those that are short together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from kit.planning.exact.alike import Alike
from kit.planning.exact.choosing import Choice, Placed, Settled
from kit.planning.exact.limits import USUAL, Limits
from kit.planning.exact.parts import Joined, Part, merged, split, worth_keeping
from kit.planning.exact.problem import Problem
from kit.planning.exact.score import Score, Solution, score_of

R = TypeVar("R")


def solve(problem: Problem, limits: Limits = USUAL) -> Solution:
    """The best placing of pieces on slots, by the ordered objective of `Score`, and how far that is proven.

    The order: (1) sum of the weights of jobs short; (2) pieces short; (3) present promises given up; (4) works;
    (5) shortages, least on the earliest slots; (6) sum of ranks; (7) sum of days; (8) sum of widths; (9) first in
    order when the sorted tags are read slot by slot. The same problem has the same answer on every run.
    """
    run = _Run(problem, limits)
    run.settle()
    placing = [run.settled.placed.get(slot, {}) for slot in range(len(problem.slots))]
    score = score_of(problem, placing, run.settled.works)
    return Solution(
        placed=tuple(_by_tag(problem, placed) for placed in placing),
        works=tuple(sorted(run.settled.works)),
        score=score,
        jobs_short=_jobs_short(problem, score),
        proven=run.settled.proven,
        gap=run.settled.gap,
        ties_settled=run.settled.ties_settled,
        parts=run.parts,
    )


def _by_tag(problem: Problem, placed: Mapping[int, int]) -> dict[str, int]:
    found: dict[str, int] = defaultdict(int)
    for place, quantity in placed.items():
        found[problem.options[place].piece] += quantity
    return dict(sorted(found.items()))


def _jobs_short(problem: Problem, score: Score) -> int:
    return len({slot.job for slot, short in zip(problem.slots, score.shortages, strict=True) if short > 0})


class _Run:
    """One problem under way: how its parts are settled."""

    def __init__(self, problem: Problem, limits: Limits) -> None:
        self.problem, self.limits = problem, limits
        self.settled = Settled()
        self.choice = Choice(problem, limits, None)
        self.parts = 0

    def settle(self) -> None:
        problem = self.problem
        options = self._without_needless_works(worth_keeping(problem))
        everything = Part(tuple(range(len(problem.slots))), tuple(options))
        if self.limits.split:
            self.choice = Choice(problem, self.limits, Alike(problem, options))
        parts = split(problem, options) if self.limits.split else [everything]
        short_anyway = _short_anyway(problem, options)
        parts = [
            part
            for part in parts
            if part.options and any(problem.slots[slot].quantity for slot in part.slots)
        ]
        self.parts = len(parts)
        lacking: list[tuple[Part, Placed]] = []
        works: set[str] = set()
        for part, full, placed, done in self._each(self._fill, parts):
            if full is not None:
                self.settled.take(full)
            else:
                lacking.append((part, placed))
                works |= done
        for group in _hanging_together(problem, lacking, short_anyway):
            self._settle_short(group, short_anyway, works)

    def _each(self, what: Callable[[Part], R], parts: Sequence[Part]) -> list[R]:
        """What comes of each part, in their order, several at a time where there are processors for it.

        Threads do, because HiGHS lets others work while it does: nothing is sent about, and it is as good inside a
        web server as in a command. Each part is settled by itself, so that it does not matter which is first.
        """
        workers = min(self.limits.workers, len(parts))
        if workers < 2:
            return [what(part) for part in parts]
        found: dict[int, R] = {}
        # The largest first, so that at the end none is left to work alone for long.
        order = sorted(range(len(parts)), key=lambda place: -len(parts[place].options))
        with ThreadPoolExecutor(workers, thread_name_prefix="parts") as pool:
            for place, settled in zip(order, pool.map(what, [parts[place] for place in order]), strict=True):
                found[place] = settled
        return [found[place] for place in range(len(parts))]

    def _fill(self, part: Part) -> tuple[Part, Settled | None, Placed, set[str]]:
        """As many pieces as can be; with all that are wanted, the part is settled."""
        amounts = {slot: self.problem.slots[slot].quantity for slot in part.slots}
        problem, coarse = self.choice.coarse(part, amounts)
        descent = self.choice.begin(coarse, {}, problem=problem)
        model = descent.model
        placed = -descent.least(-model.cost(model.pieces_placed(coarse.slots)))
        works = model.works_done(descent.point)
        found = self.choice.spread(part, problem, model.placing(descent.point), amounts)
        if placed == sum(amounts.values()):
            return part, self.choice.finish(part, found, works), found, works
        return part, None, found, works

    def _without_needless_works(self, options: list[int]) -> list[int]:
        """Leaves out works where all slots can be filled and all promises kept without any.

        Slots that only share a pool are looked at apart: whoever needs no works leaves the pool to the others.
        """
        problem = self.problem
        if not problem.works or not self.limits.split:
            return options
        kept: list[int] = []
        for part in split(problem, options, pools=False):
            plain = [place for place in part.options if not problem.options[place].works]
            if len(plain) < len(part.options):
                descent = self.choice.begin(Part(part.slots, tuple(plain)), {})
                model = descent.model
                wanted = sum(problem.slots[slot].quantity for slot in part.slots)
                if -descent.least(-model.cost(model.pieces_placed(part.slots))) == wanted:
                    terms, constant = model.changes
                    if descent.least(model.cost(terms), constant) == 0:
                        kept.extend(plain)
                        continue
            kept.extend(part.options)
        return sorted(kept)

    def _settle_short(
        self, group: Sequence[tuple[Part, Placed]], short_anyway: set[int], works: Collection[str]
    ) -> None:
        """Parts with a shortage that share jobs: first together, who goes short of what; then each by itself."""
        from kit.planning.exact.levels import Descent, Turn
        from kit.planning.exact.model import Model

        problem = self.problem
        part = merged([each for each, _ in group])
        start = {slot: on for _, placed in group for slot, on in placed.items()}
        model = Model(problem, part, asks_jobs=True, short_anyway=short_anyway)
        descent = Descent(model, model.point(start, works), self.limits)
        descent.least(model.jobs_short())
        wanted = sum(problem.slots[slot].quantity for slot in part.slots)
        short = descent.least(-model.cost(model.pieces_placed(part.slots)), wanted)
        terms, constant = model.changes
        descent.least(model.cost(terms), constant)
        descent.least(model.cost((column, 1) for column in model.work_columns.values()))
        descent.first_in_order(
            [
                Turn(((model.on_slot[slot], -1),), -asked, min(short, asked))
                for slot in part.slots
                if model.on_slot[slot] and (asked := problem.slots[slot].quantity)
            ]
        )
        self.settled.note(descent)
        placed = model.placing(descent.point)
        amounts = {slot: sum(on.values()) for slot, on in placed.items()}
        left = [place for place in part.options if amounts[problem.options[place].slot]]
        smaller = split(problem, left, part.slots) if self.limits.split else [Part(part.slots, tuple(left))]
        done = model.works_done(descent.point)
        for found in self._each(
            lambda each: self.choice.finish(each, {slot: placed[slot] for slot in each.slots}, done),
            [each for each in smaller if each.options],
        ):
            self.settled.take(found)


def _short_anyway(problem: Problem, options: Iterable[int]) -> set[int]:
    """Jobs that are short whatever is done, because one of their slots has too few pieces to choose from."""
    pieces = {piece.tag: piece.quantity for piece in problem.pieces}
    on_slot: dict[int, set[str]] = defaultdict(set)
    for place in options:
        on_slot[problem.options[place].slot].add(problem.options[place].piece)
    return {
        slot.job
        for place, slot in enumerate(problem.slots)
        if sum(pieces[tag] for tag in on_slot[place]) < slot.quantity
    }


def _hanging_together(
    problem: Problem, lacking: Sequence[tuple[Part, Placed]], short_anyway: set[int]
) -> list[list[tuple[Part, Placed]]]:
    """Parts with a shortage in groups that share a job of which it is not plain that it is short."""
    joined = Joined(len(lacking))
    first: dict[int, int] = {}
    for place, (part, _) in enumerate(lacking):
        for slot in part.slots:
            job = problem.slots[slot].job
            if job not in short_anyway and problem.slots[slot].quantity:
                joined.join(first.setdefault(job, place), place)
    return [[lacking[place] for place in group] for group in joined.groups(range(len(lacking)))]
