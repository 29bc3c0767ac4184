"""How a problem falls apart, and which options can be left out, before any solver sees it.

Two facts do it, and neither gives up exactness:

*Dear options.* If a piece lies on a slot while another that may go there too, is cheaper there (rank, days, width,
tag) and stands free all that time, exchanging the two is better at a level and worse at none. So in the best answer
each cheaper piece is away on something else in that time. Slots that overlap in time want only so many pieces, say
d: behind the first d + 1 of a slot's options no other is ever taken, but for the promises there are. (It is tempting
to keep only the d cheapest pieces of a class in all. That is wrong for the sums: with windows 1-4, 3-8 and 1, 2, 5-6,
7-8 two pieces are enough, and yet a dear third one is worth while when the second is nearly as dear.)

*Parts.* Slots have to do with each other where a piece, a lot, a set, an assembly or a work may be on either, in
windows that touch. Pieces make parts; that jobs are short makes parts hang together only where there is a shortage:
a part that can fill all its slots does so in the best answer, whatever the others do.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

from kit.planning.exact.problem import Option, Problem


@dataclass(frozen=True, slots=True)
class Part:
    """Places in `Problem.slots` and `Problem.options`, each in order."""

    slots: tuple[int, ...]
    options: tuple[int, ...]


class Joined:
    """Places that hang together, as a forest: the first of each tree stands for it."""

    def __init__(self, size: int) -> None:
        self.up = list(range(size))

    def root(self, place: int) -> int:
        while self.up[place] != place:
            self.up[place] = self.up[self.up[place]]
            place = self.up[place]
        return place

    def join(self, one: int, other: int) -> None:
        first, second = sorted((self.root(one), self.root(other)))
        self.up[second] = first

    def join_all(self, places: Iterable[int]) -> None:
        listed = list(places)
        for other in listed[1:]:
            self.join(listed[0], other)

    def groups(self, places: Iterable[int]) -> list[list[int]]:
        """These places, those that hang together each as a list, in the order of the first that stands for them."""
        found: dict[int, list[int]] = defaultdict(list)
        for place in places:
            found[self.root(place)].append(place)
        return [found[root] for root in sorted(found)]


def worth_keeping(problem: Problem) -> list[int]:
    """Places of the options that the best answer may use."""
    possible = _possible(problem)
    return _not_too_dear(problem, possible)


def _possible(problem: Problem) -> list[int]:
    """Leaves out what no answer can use: for a full slot, of a set that cannot go whole, unmarked in an assembly."""
    pieces = {piece.tag: piece for piece in problem.pieces}
    members: dict[str, set[str]] = defaultdict(set)
    for piece in problem.pieces:
        if piece.set_name:
            members[piece.set_name].add(piece.tag)
    left = []
    for place, option in enumerate(problem.options):
        slot, piece = problem.slots[option.slot], pieces[option.piece]
        if slot.quantity > 0 and piece.quantity > 0 and not (slot.assembly and not piece.mark):
            left.append(place)
    offered: dict[tuple[int, str], set[str]] = defaultdict(set)
    for place in left:
        option = problem.options[place]
        name = pieces[option.piece].set_name
        if name:
            offered[problem.slots[option.slot].job, name].add(option.piece)
    return [
        place
        for place in left
        if not (name := pieces[problem.options[place].piece].set_name)
        or offered[problem.slots[problem.options[place].slot].job, name] == members[name]
    ]


def _not_too_dear(problem: Problem, places: Sequence[int]) -> list[int]:
    pieces = {piece.tag: piece for piece in problem.pieces}
    promised = {(promise.piece, promise.slot) for promise in problem.promised}
    by_slot: dict[int, list[int]] = defaultdict(list)
    for place in places:
        by_slot[problem.options[place].slot].append(place)
    # Slots share pieces only within one of these groups: what others want takes no piece of this one.
    joined = Joined(len(problem.slots))
    for slots in _slots_by_piece(problem, places).values():
        joined.join_all(slots)
    spans: dict[int, list[tuple[int, int, int, set[str]]]] = defaultdict(list)
    for slot, listed in by_slot.items():
        options = [problem.options[place] for place in listed]
        first, last = min(o.starts for o in options), max(o.ends for o in options)
        tags = {option.piece for option in options}
        spans[joined.root(slot)].append((first, last, problem.slots[slot].quantity, tags))
    kept = []
    for slot, listed in by_slot.items():
        options = [problem.options[place] for place in listed]
        first, last = min(o.starts for o in options), max(o.ends for o in options)
        tags = {option.piece for option in options}
        enough = sum(
            quantity
            for starts, ends, quantity, theirs in spans[joined.root(slot)]
            if starts <= last and first <= ends and not tags.isdisjoint(theirs)
        )
        ahead: dict[str, int] = defaultdict(int)
        for place in sorted(listed, key=lambda place: _price(problem.options[place])):
            option = problem.options[place]
            piece = pieces[option.piece]
            mark = piece.mark if problem.slots[slot].assembly else ""
            plain = not (option.works or option.barred_by or piece.lot or piece.set_name)
            if not plain or ahead[mark] < enough or (option.piece, slot) in promised:
                kept.append(place)
            if plain:
                ahead[mark] += 1
    return sorted(kept)


def _price(option: Option) -> tuple[int, int, int, str]:
    return option.rank, option.days, option.width, option.piece


def _slots_by_piece(problem: Problem, places: Iterable[int]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = defaultdict(list)
    for place in places:
        option = problem.options[place]
        found[option.piece].append(option.slot)
    return found


def split(
    problem: Problem, places: Sequence[int], slots: Iterable[int] | None = None, pools: bool = True
) -> list[Part]:
    """The parts into which these options fall, over these slots (all by default), in the order of their slots.

    `pools` False: as if each pool had room for every work.
    """
    joined = Joined(len(problem.slots))
    pieces = {piece.tag: piece for piece in problem.pieces}
    by_piece: dict[str, list[Option]] = defaultdict(list)
    by_work: dict[str, list[int]] = defaultdict(list)
    of_set: dict[tuple[int, str], list[int]] = defaultdict(list)
    works = {work.key: work for work in problem.works}
    for place in places:
        option = problem.options[place]
        piece = pieces[option.piece]
        by_piece[option.piece].append(option)
        if piece.set_name:
            of_set[problem.slots[option.slot].job, piece.set_name].append(option.slot)
        for key in {*chain(*option.works), *option.barred_by}:
            work = works[key]
            by_work[f"work {key}"].append(option.slot)
            if work.group:
                by_work[f"group {work.group}"].append(option.slot)
            if work.pool and pools:
                by_work[f"pool {work.pool}"].append(option.slot)
    for tag, options in by_piece.items():
        if pieces[tag].lot:
            joined.join_all(option.slot for option in options)
            continue
        for together in _touching(options):
            joined.join_all(option.slot for option in together)
    for listed in (*by_work.values(), *of_set.values()):
        joined.join_all(listed)
    wanted = list(range(len(problem.slots))) if slots is None else sorted(set(slots))
    in_assembly: dict[tuple[int, str], list[int]] = defaultdict(list)
    for place in wanted:
        slot = problem.slots[place]
        if slot.assembly:
            in_assembly[slot.job, slot.assembly].append(place)
    for listed in in_assembly.values():
        joined.join_all(listed)
    of_slot: dict[int, list[int]] = defaultdict(list)
    for place in places:
        of_slot[problem.options[place].slot].append(place)
    return [
        Part(tuple(here), tuple(sorted(place for slot in here for place in of_slot[slot])))
        for here in joined.groups(wanted)
    ]


def merged(parts: Sequence[Part]) -> Part:
    """Several parts as one."""
    return Part(
        tuple(sorted(slot for part in parts for slot in part.slots)),
        tuple(sorted(place for part in parts for place in part.options)),
    )


def _touching(options: Iterable[Option]) -> list[list[Option]]:
    """Options of one piece in groups whose windows overlap, from one to the next."""
    groups: list[list[Option]] = []
    last = None
    for option in sorted(options, key=lambda option: (option.starts, option.ends)):
        if last is None or option.starts > last:
            groups.append([])
        groups[-1].append(option)
        last = option.ends if last is None else max(last, option.ends)
    return groups


def cliques(windows: Sequence[tuple[int, int]]) -> list[list[int]]:
    """The greatest sets of windows that all overlap on some day, each as places; both ends belong to a window."""
    by_end = sorted(range(len(windows)), key=lambda place: windows[place][1])
    by_start = sorted(range(len(windows)), key=lambda place: windows[place][0])
    open_now: set[int] = set()
    found: list[list[int]] = []
    grown = False
    ended = 0
    for place in by_start:
        starts = windows[place][0]
        while windows[by_end[ended]][1] < starts:
            if grown:
                found.append(sorted(open_now))
                grown = False
            open_now.discard(by_end[ended])
            ended += 1
        open_now.add(place)
        grown = True
    if grown:
        found.append(sorted(open_now))
    return found
