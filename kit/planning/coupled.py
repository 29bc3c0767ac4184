"""Which lines of a job have to do with each other, and the best choice for those that are coupled.

Lines of different kinds are chosen for apart, unless an assembly, a set or a substitute couples them; lines that
nothing couples keep the quick way of `kit.planning.one_kind`. Coupled ones are put to the exact core as one job:
fewest pieces short, a shortage on the later line, then least use of substitutes (sum of their ranks), least sum of
days, least sum of widths, first in the order of tags. Substitutes come right after the shortages, as where a season
is rearranged: a piece of another kind is taken where it fills a line, and never only because it saves life.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from kit.planning.as_slots import (
    as_compared,
    kinds_of,
    lot_kinds,
    option_of,
    piece_of,
    places_of_width,
    slots_of,
)
from kit.planning.exact import Job, Limits, Problem, solve
from kit.planning.values import Candidate, Need

ONE_JOB = Limits(seconds_a_solve=60.0, ties_columns=1_000_000)
"""A kit list is the same on every run: equally good choices are told apart however many there are."""


@dataclass(frozen=True, slots=True)
class Group:
    """Lines (places in the job, in order) that share pieces or are coupled; `coupled`: the quick way does not do."""

    lines: tuple[int, ...]
    coupled: bool


def groups_of(need: Need, sets: Iterable[Sequence[Candidate]]) -> list[Group]:
    """The lines of the job in groups that can be chosen for apart. `sets`: those that might go to the job."""
    together: dict[str, set[str]] = defaultdict(set)
    knotted: set[str] = set()

    def join(names: Sequence[str]) -> None:
        for name in names:
            together[names[0]].add(name)
            together[name].add(names[0])

    for line in need.lines:
        kinds = [f"kind {seen.kind}" for _, seen in kinds_of(line)]
        names = [*kinds, f"assembly {line.assembly}"] if line.assembly else kinds
        join(names)
        if len(names) > 1:
            knotted.update(names)
    for members in sets:
        names = sorted({f"kind {member.kind}" for member in members})
        join(names)
        knotted.update(names)
    groups: list[Group] = []
    seen: set[str] = set()
    for line in need.lines:
        start = f"kind {line.kind}"
        if start in seen:
            continue
        group = {start}
        waiting = [start]
        while waiting:
            for name in together[waiting.pop()] - group:
                group.add(name)
                waiting.append(name)
        seen |= group
        places = tuple(p for p, other in enumerate(need.lines) if f"kind {other.kind}" in group)
        groups.append(Group(places, bool(group & knotted)))
    return groups


@dataclass(frozen=True, slots=True)
class Choice:
    """For each line of a group, tag -> quantity; `proven`: no other choice is better, ties included."""

    placed: tuple[dict[str, int], ...]
    proven: bool


def choose_coupled(
    need: Need,
    lines: Sequence[int],
    pieces: Iterable[Candidate],
    fits: Collection[tuple[str, int]],
    held: Sequence[Counter[str]] = (),
) -> Choice:
    """The best choice for these lines beside what lies on them already.

    `pieces`: what may be taken, a lot with what is free of it; `fits`: (tag, place of the line) where nothing speaks
    against a piece; `held`: for each line of the job, mark -> pieces that the job holds for it, blank if without one.
    """
    own = {place: number for number, place in enumerate(lines)}
    listed = [piece for piece in pieces if any((piece.tag, place) in fits for place in lines)]
    lots = lot_kinds(need.lines)
    width_places = places_of_width(listed)
    slots = list(slots_of(0, need, held))
    options = [
        option_of(piece, own[place], seen, rank, need, width_places)
        for place in lines
        for rank, seen in kinds_of(need.lines[place])
        for piece in listed
        if piece.kind == seen.kind and (piece.tag, place) in fits
    ]
    solution = solve(
        Problem(
            jobs=(Job(need.job),),
            slots=tuple(slots[place] for place in lines),
            pieces=tuple(piece_of(piece, piece.kind in lots) for piece in listed),
            options=tuple(options),
        ),
        ONE_JOB,
    )
    return Choice(solution.placed, solution.proven and solution.ties_settled)


def marks_held(held: Mapping[str, int], register: Mapping[str, Candidate]) -> Counter[str]:
    """Mark -> pieces of what lies on a line; blank for what has none or is not in the register."""
    marks: Counter[str] = Counter()
    for tag, quantity in held.items():
        piece = register.get(tag)
        marks["" if piece is None else as_compared(piece.mark)] += quantity
    return marks
