"""Works that a plan may count on, where the register says so: a check done in time, a piece sent to another depot.

A check may be done on any of the last BENCH_DAYS days before a loading that needs it, from today on, once in a season,
not before the piece is back from what it is out on or promised to for good; what failed, is in quarantine or past its
use-by is mended by no check. A piece may be sent once in a season, with nothing else done to it; from the day of
sending on it serves only the depot that it is sent to. Neither is planned for lots or for members of sets.

Works are added to the best plan without any, and only where they can help: for lines that are short; for lines that
in the same days hold a piece that would do on those, which comes free if a work fills theirs; for lines that got a
piece which was promised to another; and, so that a promise need not be given up, for the piece that was promised.
These lines are chosen for anew, all others keep what that plan gives them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, replace

from kit.planning.exact import Option, Problem, Solution, meet
from kit.planning.rearranging.season import Season, WorkToDo
from kit.planning.rearranging.works_added import Adding


@dataclass(frozen=True, slots=True)
class Worked:
    """The question of the lines that works may help, `slots`, and what each key of a work stands for."""

    problem: Problem
    slots: frozenset[int]
    named: Mapping[str, WorkToDo]

    def options_after(self, placed: Sequence[Mapping[str, int]]) -> frozenset[tuple[str, int]]:
        """(tag, slot) of what goes only after a work."""
        return frozenset(
            (option.piece, option.slot)
            for option in self.problem.options
            if option.works and option.piece in placed[option.slot]
        )


def counts_on_works(season: Season) -> bool:
    """Whether the register has benches or links that a plan may count on."""
    return any(season.bench_a_day.values()) or bool(season.link_days)


def worked(season: Season, asked: Problem, plain: Solution) -> Worked:
    """The question once more for the lines that works may help; `plain` is the answer without any."""
    given_up = {
        (promise.piece, promise.slot)
        for promise in asked.promised
        if plain.placed[promise.slot].get(promise.piece, 0) < promise.quantity
    }
    helped = _slots_to_help(asked, plain, given_up)
    anew = _with_what_hangs_on(asked, plain, helped | {slot for _, slot in given_up})
    stays: dict[str, list[Option]] = defaultdict(list)
    for option in asked.options:
        if option.slot not in anew and option.piece in plain.placed[option.slot]:
            stays[option.piece].append(option)
    kept = _the_rest_kept(asked, plain, anew, stays)
    problem, named = Adding(season, kept, stays, helped, given_up).result()
    return Worked(problem, frozenset(anew), named)


def _slots_to_help(asked: Problem, plain: Solution, given_up: Set[tuple[str, int]]) -> set[int]:
    """Slots that are short, those that hold what would do on them, and those that hold what others were promised."""
    short = {slot for slot, lacking in enumerate(plain.score.shortages) if lacking}
    wanted: dict[str, list[Option]] = defaultdict(list)
    held: dict[str, list[Option]] = defaultdict(list)
    for option in asked.options:
        if option.slot in short or (option.piece, option.slot) in given_up:
            wanted[option.piece].append(option)
        if option.piece in plain.placed[option.slot]:
            held[option.piece].append(option)
    holding = {
        mine.slot
        for tag, options in wanted.items()
        for mine in held[tag]
        if any(meet(mine, o) for o in options)
    }
    return short | holding


def _with_what_hangs_on(asked: Problem, plain: Solution, slots: set[int]) -> set[int]:
    """These slots, and those of the same assemblies, and those with other pieces of the same sets."""
    sets = {piece.tag: piece.set_name for piece in asked.pieces if piece.set_name}
    hanging: dict[tuple[int, str], set[int]] = defaultdict(set)
    for place, slot in enumerate(asked.slots):
        if slot.assembly:
            hanging[slot.job, f"assembly {slot.assembly}"].add(place)
        for tag in plain.placed[place]:
            if tag in sets:
                hanging[slot.job, f"set {sets[tag]}"].add(place)
    found = set(slots)
    while more := {place for group in hanging.values() if group & found for place in group} - found:
        found |= more
    return found


def _the_rest_kept(
    asked: Problem, plain: Solution, anew: set[int], stays: Mapping[str, Sequence[Option]]
) -> Problem:
    """The question of these slots alone: what the others were given is gone."""
    gone = {tag: sum(plain.placed[option.slot][tag] for option in options) for tag, options in stays.items()}
    is_lot = {piece.tag for piece in asked.pieces if piece.lot}
    return replace(
        asked,
        slots=tuple(
            slot if place in anew else replace(slot, quantity=0) for place, slot in enumerate(asked.slots)
        ),
        pieces=tuple(
            replace(piece, quantity=piece.quantity - gone.get(piece.tag, 0)) if piece.lot else piece
            for piece in asked.pieces
        ),
        options=tuple(
            option
            for option in asked.options
            if option.slot in anew
            and (
                option.piece in is_lot
                or not any(meet(option, other) for other in stays.get(option.piece, ()))
            )
        ),
        promised=tuple(promise for promise in asked.promised if promise.slot in anew),
    )
