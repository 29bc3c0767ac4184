"""The exact core's question answered the long way: every placing is tried, and the best is kept.

Written from the rules in words, sharing nothing with the core but the values asked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product

from kit.planning.exact import Option, Piece, Problem

Placing = tuple[tuple[int, int], ...]  # (place of the option, how many)


def best(problem: Problem) -> tuple[tuple, list[dict[str, int]], tuple[str, ...]]:
    """The least ordered objective, and tag -> quantity on each slot."""
    found = None
    for placing in _placings(problem):
        for works in _works(problem, placing):
            score = _score(problem, placing, works)
            order = tuple(work.key not in works for work in problem.works)
            if found is None or (score, order) < (found[0], found[3]):
                found = score, placing, works, order
    assert found is not None, "placing nothing is always possible"
    on: list[Counter[str]] = [Counter() for _ in problem.slots]
    for place, count in found[1]:
        on[problem.options[place].slot][problem.options[place].piece] += count
    return found[0], [dict(sorted(each.items())) for each in on], tuple(sorted(found[2]))


def _placings(problem: Problem) -> Iterator[Placing]:
    ways = [list(_ways(problem, piece)) for piece in problem.pieces]

    def go(piece: int, room: list[int], so_far: Placing) -> Iterator[Placing]:
        if piece == len(ways):
            if _allowed(problem, so_far):
                yield so_far
            return
        for way in ways[piece]:
            left = list(room)
            for place, count in way:
                left[problem.options[place].slot] -= count
            if min(left, default=0) >= 0:
                yield from go(piece + 1, left, so_far + way)

    yield from go(0, [slot.quantity for slot in problem.slots], ())


def _ways(problem: Problem, piece: Piece) -> Iterator[Placing]:
    """What one piece can do by itself."""
    mine = [place for place, option in enumerate(problem.options) if option.piece == piece.tag]
    if piece.lot:
        for counts in product(
            *(range(min(piece.quantity, problem.slots[problem.options[p].slot].quantity) + 1) for p in mine)
        ):
            if sum(counts) <= piece.quantity:
                yield tuple((place, count) for place, count in zip(mine, counts, strict=True) if count)
        return
    for size in range(len(mine) + 1):
        for chosen in combinations(mine, size):
            options = [problem.options[place] for place in chosen]
            if not any(_meet(one, other) for one, other in combinations(options, 2)):
                yield tuple((place, 1) for place in chosen)


def _meet(one: Option, other: Option) -> bool:
    return bool(set(range(one.starts, one.ends + 1)) & set(range(other.starts, other.ends + 1)))


def _allowed(problem: Problem, placing: Placing) -> bool:
    pieces = {piece.tag: piece for piece in problem.pieces}
    chosen = [(problem.options[place], count) for place, count in placing]
    for name in {piece.set_name for piece in problem.pieces if piece.set_name}:
        members = {piece.tag for piece in problem.pieces if piece.set_name == name}
        for job in range(len(problem.jobs)):
            going = {option.piece for option, _ in chosen if problem.slots[option.slot].job == job}
            if going & members and not members <= going:
                return False
    return all(_made_up(problem, pieces, chosen, *each) for each in _assemblies(problem))


def _works(problem: Problem, placing: Placing) -> Iterator[tuple[str, ...]]:
    """Every choice of works with which the placing may be."""
    chosen = [problem.options[place] for place, _ in placing]
    for size in range(len(problem.works) + 1):
        for works in combinations(problem.works, size):
            done = {work.key for work in works}
            groups = Counter(work.group for work in works if work.group)
            pools = Counter(work.pool for work in works if work.pool)
            if (
                all(count == 1 for count in groups.values())
                and all(pools[name] <= room for name, room in problem.pools)
                and not any(set(option.barred_by) & done for option in chosen)
                and all(set(keys) & done for option in chosen for keys in option.works)
            ):
                yield tuple(sorted(done))


def _assemblies(problem: Problem) -> set[tuple[int, str]]:
    return {(slot.job, slot.assembly) for slot in problem.slots if slot.assembly}


def _made_up(
    problem: Problem, pieces: dict[str, Piece], chosen: list[tuple[Option, int]], job: int, assembly: str
) -> bool:
    """Whether the pieces on the lines of an assembly make up units of one mark each: all ways are tried."""
    slots = [
        place for place, slot in enumerate(problem.slots) if (slot.job, slot.assembly) == (job, assembly)
    ]
    new: Counter[tuple[int, str]] = Counter()
    for option, count in chosen:
        if option.slot in slots:
            if not pieces[option.piece].mark:
                return False
            new[option.slot, pieces[option.piece].mark] += count
    held = Counter({(slot, mark): n for slot in slots for mark, n in problem.slots[slot].held if mark})
    marks = sorted({mark for _, mark in (*new, *held)})
    units = max(problem.slots[slots[0]].units, _least_units(problem, held, slots, marks))
    for counts in product(range(units + 1), repeat=len(marks)):
        if sum(counts) <= units and all(
            new[slot, mark] + held[slot, mark] <= problem.slots[slot].per_unit * count
            for mark, count in zip(marks, counts, strict=True)
            for slot in slots
        ):
            return True
    return False


def _least_units(problem: Problem, held: Counter, slots: list[int], marks: list[str]) -> int:
    """How many units what is held already needs."""
    total = 0
    for mark in marks:
        count = 0
        while any(held[slot, mark] > problem.slots[slot].per_unit * count for slot in slots):
            count += 1
        total += count
    return total


def _score(problem: Problem, placing: Placing, works: tuple[str, ...]) -> tuple:
    on: list[list[str]] = [[] for _ in problem.slots]
    rank = days = width = 0
    for place, count in placing:
        option = problem.options[place]
        on[option.slot] += [option.piece] * count
        rank += count * option.rank
        days += count * option.days
        width += count * option.width
    short = [slot.quantity - len(tags) for slot, tags in zip(problem.slots, on, strict=True)]
    jobs = {slot.job for slot, lack in zip(problem.slots, short, strict=True) if lack}
    given_up = sum(
        max(0, promise.quantity - on[promise.slot].count(promise.piece)) for promise in problem.promised
    )
    return (
        sum(problem.jobs[job].weight for job in jobs),
        sum(short),
        given_up,
        len(works),
        tuple(short),
        rank,
        days,
        width,
        tuple(tuple(sorted(tags)) for tags in on),
    )
