"""One part as whole-number columns and rows: sparse, and every coefficient an integer.

Columns: how many of each option; whether each work is done; units of each mark in each assembly; whether each set
goes to each job; how many of each promised lot are given up; whether each job is short (only where that is asked).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import partial
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from kit.planning.exact.parts import Part, cliques
from kit.planning.exact.problem import Problem

Ints = NDArray[np.int64]

FREE = 2**40
"""Stands for no limit to a row, well above any sum in one."""


class Rows:
    """Rows low <= sum of coefficient x column <= high, as they are collected."""

    def __init__(self) -> None:
        self.row: list[int] = []
        self.column: list[int] = []
        self.value: list[int] = []
        self.low: list[int] = []
        self.high: list[int] = []

    def add(self, terms: Iterable[tuple[int, int]], low: int = -FREE, high: int = FREE) -> int:
        """Add a row of (column, coefficient); its place."""
        place = len(self.low)
        for column, value in terms:
            self.row.append(place)
            self.column.append(column)
            self.value.append(value)
        self.low.append(low)
        self.high.append(high)
        return place


class Model:
    """The columns and rows of one part, and the sums to be made least.

    `amounts`: how many each slot gets, where that is settled. `asks_jobs`: whether jobs short are counted, with
    weight 0 for those in `short_anyway`.
    """

    def __init__(
        self,
        problem: Problem,
        part: Part,
        amounts: Mapping[int, int] | None = None,
        asks_jobs: bool = False,
        short_anyway: Iterable[int] = (),
    ) -> None:
        self.problem, self.part = problem, part
        self.options = [problem.options[place] for place in part.options]
        self.pieces = {piece.tag: piece for piece in problem.pieces}
        self.rows = Rows()
        self.high: list[int] = []
        # How the columns beside the options follow from them: (column, value at a point of the options).
        self.follow: list[tuple[int, Callable[[Ints], int]]] = []
        self.on_slot: dict[int, list[int]] = {slot: [] for slot in part.slots}
        for column, option in enumerate(self.options):
            self.on_slot[option.slot].append(column)
            self._column(min(self.pieces[option.piece].quantity, problem.slots[option.slot].quantity))
        self.slot_row: dict[int, int] = {}
        for slot, columns in self.on_slot.items():
            if columns:
                most = problem.slots[slot].quantity if amounts is None else amounts[slot]
                low = 0 if amounts is None else most
                self.slot_row[slot] = self.rows.add([(column, 1) for column in columns], low, most)
        self._pieces_once()
        self.work_columns = self._works()
        self._assemblies()
        self._sets()
        self.changes = self._changes()
        self.job_columns = self._jobs(set(short_anyway)) if asks_jobs else {}

    def _column(self, high: int, follows: Callable[[Ints], int] | None = None) -> int:
        self.high.append(high)
        if follows is not None:
            self.follow.append((len(self.high) - 1, follows))
        return len(self.high) - 1

    def _pieces_once(self) -> None:
        of_piece: dict[str, list[int]] = defaultdict(list)
        for column, option in enumerate(self.options):
            of_piece[option.piece].append(column)
        for tag, columns in of_piece.items():
            piece = self.pieces[tag]
            if piece.lot:
                self.rows.add([(column, 1) for column in columns], high=piece.quantity)
                continue
            windows = [(self.options[column].starts, self.options[column].ends) for column in columns]
            for together in cliques(windows):
                if len(together) > 1:
                    self.rows.add([(columns[place], 1) for place in together], high=1)

    def _works(self) -> dict[str, int]:
        named = {key for option in self.options for key in (*chain(*option.works), *option.barred_by)}
        works = [work for work in self.problem.works if work.key in named]
        columns = {work.key: self._column(1) for work in works}
        by_group: dict[str, list[int]] = defaultdict(list)
        by_pool: dict[str, list[int]] = defaultdict(list)
        for work in works:
            if work.group:
                by_group[work.group].append(columns[work.key])
            if work.pool:
                by_pool[work.pool].append(columns[work.key])
        for listed in by_group.values():
            if len(listed) > 1:
                self.rows.add([(column, 1) for column in listed], high=1)
        room = dict(self.problem.pools)
        groups = {work.key: work.group for work in works}
        for pool, listed in by_pool.items():
            self.rows.add([(column, 1) for column in listed], high=room[pool])
        for column, option in enumerate(self.options):
            most = self.high[column]
            for keys in option.works:
                self.rows.add([(column, 1), *((columns[key], -most) for key in keys)], high=0)
            apart: dict[str, list[int]] = defaultdict(list)
            for key in option.barred_by:
                apart[groups[key] or f"alone {key}"].append(columns[key])
            # Of one group one work is done at most: one row bars them all.
            for listed in apart.values():
                self.rows.add([(column, 1), *((each, most) for each in listed)], high=most)
        return columns

    def _assemblies(self) -> None:
        slots: dict[tuple[int, str], list[int]] = defaultdict(list)
        for place in self.part.slots:
            slot = self.problem.slots[place]
            if slot.assembly:
                slots[slot.job, slot.assembly].append(place)
        for places in slots.values():
            marks: set[str] = set()
            by_mark: dict[tuple[int, str], list[int]] = defaultdict(list)
            taken: dict[str, int] = defaultdict(int)
            for place in places:
                slot = self.problem.slots[place]
                for column in self.on_slot[place]:
                    mark = self.pieces[self.options[column].piece].mark
                    marks.add(mark)
                    by_mark[place, mark].append(column)
                for mark, count in slot.held:
                    if mark:
                        taken[mark] = max(taken[mark], -(-count // slot.per_unit))
            units = max([sum(taken.values()), *(self.problem.slots[place].units for place in places)])
            lies_on = {
                mark: [
                    (by_mark[place, mark], dict(slot.held).get(mark, 0), slot.per_unit)
                    for place in places
                    for slot in [self.problem.slots[place]]
                ]
                for mark in sorted(marks | set(taken))
            }
            columns = {mark: self._column(units, partial(_units, lies)) for mark, lies in lies_on.items()}
            self.rows.add([(column, 1) for column in columns.values()], high=units)
            for mark, count in taken.items():
                self.rows.add([(columns[mark], 1)], low=count)
            for (place, mark), listed in by_mark.items():
                slot = self.problem.slots[place]
                terms = [*((column, 1) for column in listed), (columns[mark], -slot.per_unit)]
                self.rows.add(terms, high=-dict(slot.held).get(mark, 0))

    def _sets(self) -> None:
        of_member: dict[tuple[int, str], dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for column, option in enumerate(self.options):
            name = self.pieces[option.piece].set_name
            if name:
                of_member[self.problem.slots[option.slot].job, name][option.piece].append(column)
        whole = Counter(piece.set_name for piece in self.pieces.values())
        for (_job, name), members in of_member.items():
            # A member that no column of this model stands for keeps the others back.
            most = int(len(members) == whole[name])
            goes = self._column(most, partial(_any_of, next(iter(members.values()))))
            for listed in members.values():
                self.rows.add([*((column, 1) for column in listed), (goes, -1)], 0, 0)

    def _changes(self) -> tuple[list[tuple[int, int]], int]:
        """(terms, constant) of the sum of promises given up."""
        on: dict[tuple[str, int], list[int]] = defaultdict(list)
        for column, option in enumerate(self.options):
            on[option.piece, option.slot].append(column)
        terms: list[tuple[int, int]] = []
        constant = 0
        here = set(self.part.slots)
        for promise in self.problem.promised:
            if promise.slot not in here:
                continue
            listed = on.get((promise.piece, promise.slot), [])
            if not listed:
                constant += promise.quantity
            elif not self.pieces[promise.piece].lot:
                constant += promise.quantity
                terms.extend((column, -1) for column in listed)
            else:
                given_up = self._column(promise.quantity, partial(_lacking, listed, promise.quantity))
                self.rows.add([*((column, 1) for column in listed), (given_up, 1)], low=promise.quantity)
                terms.append((given_up, 1))
        return terms, constant

    def _jobs(self, short_anyway: set[int]) -> dict[int, int]:
        columns: dict[int, int] = {}
        slots: dict[int, list[tuple[list[int], int]]] = defaultdict(list)
        for place in self.part.slots:
            slot = self.problem.slots[place]
            if slot.job in short_anyway or slot.quantity == 0:
                continue
            slots[slot.job].append((self.on_slot[place], slot.quantity))
            if slot.job not in columns:
                columns[slot.job] = self._column(1, partial(_is_short, slots[slot.job]))
            terms = [*((column, 1) for column in self.on_slot[place]), (columns[slot.job], slot.quantity)]
            self.rows.add(terms, low=slot.quantity)
        return columns

    def point(self, placing: Mapping[int, Mapping[int, int]], works: Collection[str] = ()) -> Ints:
        """The point of a placing (for each slot, place of the option in the problem -> how many) and works done."""
        amounts = {place: count for placed in placing.values() for place, count in placed.items()}
        found = np.zeros(len(self.high), dtype=np.int64)
        for column, place in enumerate(self.part.options):
            found[column] = amounts.get(place, 0)
        for key, column in self.work_columns.items():
            found[column] = key in works
        for column, follows in self.follow:
            found[column] = follows(found)
        return found

    def cost(self, terms: Iterable[tuple[int, int]]) -> Ints:
        """A sum as one coefficient a column."""
        row = np.zeros(len(self.high), dtype=np.int64)
        for column, value in terms:
            row[column] += value
        return row

    def of_options(self, values: Sequence[int]) -> Ints:
        """A sum over the options, `values` in the order of the part's options."""
        return self.cost(enumerate(values))

    def jobs_short(self) -> Ints:
        return self.cost((c, self.problem.jobs[job].weight) for job, c in self.job_columns.items())

    def pieces_placed(self, slots: Iterable[int]) -> list[tuple[int, int]]:
        return [(column, 1) for slot in slots for column in self.on_slot[slot]]

    def works_done(self, point: Ints) -> set[str]:
        """Keys of the works that are done."""
        return {key for key, column in self.work_columns.items() if point[column]}

    def placing(self, point: Ints) -> dict[int, dict[int, int]]:
        """For each slot of the part: place of the option in the problem -> how many."""
        return {
            slot: {self.part.options[column]: int(point[column]) for column in columns if point[column]}
            for slot, columns in self.on_slot.items()
        }


def _any_of(columns: Sequence[int], point: Ints) -> int:
    return int(any(point[column] for column in columns))


def _lacking(columns: Sequence[int], quantity: int, point: Ints) -> int:
    return max(quantity - sum(int(point[column]) for column in columns), 0)


def _is_short(slots: Sequence[tuple[Sequence[int], int]], point: Ints) -> int:
    return int(any(_lacking(columns, quantity, point) for columns, quantity in slots))


def _units(lies_on: Sequence[tuple[Sequence[int], int, int]], point: Ints) -> int:
    """Units of one mark that so many pieces of it make up."""
    return max(
        -(-(lies + sum(int(point[column]) for column in columns)) // per_unit)
        for columns, lies, per_unit in lies_on
    )
