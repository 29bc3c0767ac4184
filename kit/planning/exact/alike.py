"""Lines of one job that are alike, taken as one while sums are settled, and what is left open afterwards.

Where the same pieces may go on two lines of a job at the same price, on the same days, it makes no sum different
which of them lies on which line, as long as each promised piece that is kept keeps its line. So the lines are taken
as one that wants as many: a model of far fewer choices, without the many answers that only exchange pieces between
them. What that proves of a piece (that it goes, or does not) is as true of the lines one by one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from kit.planning.exact.parts import Part
from kit.planning.exact.problem import Option, Problem

if TYPE_CHECKING:
    from kit.planning.exact.model import Ints, Model

_Priced = tuple[str, int, int, int, int, int, tuple[tuple[str, ...], ...], tuple[str, ...]]


class Alike:
    """A problem with lines that are alike as one: `coarse` has the same slots, of which some want nothing any more.

    `places`: the options of the problem that count. `first`: for each slot, the slot that stands for it.
    """

    def __init__(self, problem: Problem, places: Sequence[int]) -> None:
        self.problem = problem
        self.first = list(range(len(problem.slots)))
        self.lots = {piece.tag for piece in problem.pieces if piece.lot}
        self.promised: dict[int, list[str]] = defaultdict(list)
        for promise in problem.promised:
            self.promised[promise.slot].append(promise.piece)
        self.joined: set[int] = set()
        for group in self._groups():
            self.joined.update(group)
            for slot in group:
                self.first[slot] = group[0]
        self.coarse, self.coarse_place = self._coarse(places)

    def _groups(self) -> Iterator[list[int]]:
        counts: dict[tuple[int, int, str], list[int]] = defaultdict(list)
        on_slot: dict[int, list[Option]] = defaultdict(list)
        for option in self.problem.options:
            on_slot[option.slot].append(option)
        for slot, options in on_slot.items():
            job = self.problem.slots[slot].job
            counts[job, len(options), min(option.piece for option in options)].append(slot)
        for maybe in counts.values():
            if len(maybe) == 1:
                continue
            same: dict[tuple[_Priced, ...], list[int]] = defaultdict(list)
            for slot in sorted(maybe):
                if self._may_be_taken_as_one(slot, on_slot[slot]):
                    same[tuple(sorted(_priced(option) for option in on_slot[slot]))].append(slot)
            for slots in same.values():
                held = [tag for slot in slots for tag in self.promised.get(slot, ())]
                if len(slots) > 1 and len(held) == len(set(held)):
                    yield slots

    def _may_be_taken_as_one(self, slot: int, options: Iterable[Option]) -> bool:
        asked = self.problem.slots[slot]
        if asked.assembly or len(self.promised.get(slot, ())) > asked.quantity:
            return False
        return not any(option.piece in self.lots for option in options)

    def _coarse(self, places: Sequence[int]) -> tuple[Problem, dict[int, int]]:
        problem = self.problem
        wanted = [0] * len(problem.slots)
        for slot, asked in enumerate(problem.slots):
            wanted[self.first[slot]] += asked.quantity
        options: list[Option] = []
        at: dict[tuple[int, _Priced], int] = {}
        coarse_place: dict[int, int] = {}
        for place in places:
            option = problem.options[place]
            key = self.first[option.slot], _priced(option)
            if key not in at:
                at[key] = len(options)
                options.append(replace(option, slot=key[0]) if option.slot != key[0] else option)
            coarse_place[place] = at[key]
        coarse = replace(
            problem,
            slots=tuple(
                asked if wanted[slot] == asked.quantity else replace(asked, quantity=wanted[slot])
                for slot, asked in enumerate(problem.slots)
            ),
            options=tuple(options),
            promised=tuple(
                promise
                if self.first[promise.slot] == promise.slot
                else replace(promise, slot=self.first[promise.slot])
                for promise in problem.promised
            ),
        )
        return coarse, coarse_place

    def part(self, part: Part) -> Part:
        """A part of the problem as one of the coarse problem."""
        return Part(
            tuple(sorted({self.first[slot] for slot in part.slots})),
            tuple(sorted({self.coarse_place[place] for place in part.options})),
        )

    def holds_with(self, amounts: Mapping[int, int]) -> bool:
        """Whether these slots may be taken as one with those that are alike, if they get so many.

        All that is promised to each must have room on it; and what is promised to one that is not among them must
        not pass for promised to another.
        """
        groups = {self.first[slot] for slot in amounts if slot in self.joined}
        return all(
            len(self.promised.get(slot, ())) <= amounts.get(slot, 0)
            for slot in self.joined
            if self.first[slot] in groups
        )

    def spread(
        self, part: Part, placed: Mapping[int, Mapping[int, int]], amounts: Mapping[int, int]
    ) -> dict[int, dict[int, int]]:
        """A placing of the coarse problem on the part's own slots, of which each gets at most its amount."""
        place_of: dict[int, dict[int, int]] = defaultdict(dict)
        for place in part.options:
            place_of[self.coarse_place[place]][self.problem.options[place].slot] = place
        found: dict[int, dict[int, int]] = {slot: {} for slot in part.slots}
        left = dict(amounts)
        members: dict[int, list[int]] = defaultdict(list)
        for slot in part.slots:
            members[self.first[slot]].append(slot)
        for first, slots in members.items():
            waiting = dict(placed.get(first, {}))
            for slot in slots:
                for coarse in list(waiting):
                    own = len(slots) == 1 or self.coarse.options[coarse].piece in self.promised.get(slot, ())
                    if own and slot in place_of[coarse]:
                        found[slot][place_of[coarse][slot]] = waiting.pop(coarse)
                        left[slot] -= found[slot][place_of[coarse][slot]]
            for slot in slots:
                for coarse in list(waiting):
                    if left[slot] > 0 and slot in place_of[coarse]:
                        found[slot][place_of[coarse][slot]] = waiting.pop(coarse)
                        left[slot] -= 1
        return found

    def gathered(self, part: Part, placed: Mapping[int, Mapping[int, int]]) -> dict[int, dict[int, int]]:
        """A placing of the part as one of the coarse problem."""
        found: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
        for slot in part.slots:
            for place, quantity in placed.get(slot, {}).items():
                found[self.first[slot]][self.coarse_place[place]] += quantity
        return found


def _priced(option: Option) -> _Priced:
    return (
        option.piece,
        option.rank,
        option.days,
        option.width,
        option.starts,
        option.ends,
        option.works,
        option.barred_by,
    )


def meet(one: Option, other: Option) -> bool:
    """Whether both are away on some day."""
    return one.starts <= other.ends and other.starts <= one.ends


def left_open(model: Model, low: Ints, high: Ints, amounts: Mapping[int, int]) -> set[int]:
    """Places of the options that may still go, once it is drawn on what is fixed: `low` and `high` of each column.

    A piece that goes is on nothing else in that time; a slot that has its amount takes no more; one that has just
    as many to choose from as it gets takes them all.
    """
    low, high = low.copy(), high.copy()
    of_piece: dict[str, list[int]] = defaultdict(list)
    for column, option in enumerate(model.options):
        if not model.pieces[option.piece].lot:
            of_piece[option.piece].append(column)
    pieces, slots = set(of_piece), set(model.on_slot)
    while pieces or slots:
        changed: set[int] = set()
        for slot in slots:
            columns = model.on_slot[slot]
            if low[columns].sum() == amounts[slot]:
                changed.update(column for column in columns if high[column] > low[column])
                high[columns] = low[columns]
            elif high[columns].sum() == amounts[slot]:
                changed.update(column for column in columns if high[column] > low[column])
                low[columns] = high[columns]
        for tag in pieces:
            for goes in of_piece[tag]:
                if low[goes]:
                    one = model.options[goes]
                    for column in of_piece[tag]:
                        other = model.options[column]
                        if column != goes and high[column] and meet(one, other):
                            high[column] = 0
                            changed.add(column)
        pieces = {model.options[column].piece for column in changed} & set(of_piece)
        slots = {model.options[column].slot for column in changed}
    return {model.part.options[column] for column in range(len(model.options)) if high[column]}
