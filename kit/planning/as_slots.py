"""Lines and pieces in the words of the exact core: slots with their units, pieces with set and mark, what each costs.

One job and a whole season are asked in the same words, so that a kit list and a plan cannot differ in what a set, an
assembly or a substitute is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from math import gcd

from kit.planning.exact import Option, Piece, Slot
from kit.planning.matching import cost_of
from kit.planning.values import Candidate, Line, Need

SetKey = tuple[str, str]
"""A set is known by its depot and name: what was parted by a transfer is two sets."""


def set_key(candidate: Candidate) -> SetKey | None:
    """Which set the piece is of, None if of none."""
    return (candidate.depot, candidate.set_name) if candidate.set_name else None


def as_compared(mark: str) -> str:
    """A mark without what does not count in it."""
    return mark.strip().casefold()


def kinds_of(line: Line) -> Iterator[tuple[int, Line]]:
    """The line as each kind that may fill it sees it, with the rank of that kind: 0 the line's own."""
    yield 0, line
    for other in line.substitutes:
        yield (
            other.rank,
            replace(
                line, kind=other.kind, margin_days=other.margin_days, turn_round_days=other.turn_round_days
            ),
        )


def lot_kinds(lines: Iterable[Line]) -> frozenset[str]:
    """The kinds that are counted by lots: those of counted lines, with what may stand in for them."""
    return frozenset(seen.kind for line in lines if line.counted for _, seen in kinds_of(line))


def piece_of(candidate: Candidate, lot: bool) -> Piece:
    """The piece, or the lot of what is free of it."""
    key = set_key(candidate)
    return Piece(
        tag=candidate.tag,
        quantity=max(candidate.quantity, 0) if lot else 1,
        lot=lot,
        set_name="" if key is None else "/".join(key),
        mark=as_compared(candidate.mark),
    )


def units_of(lines: Iterable[Line]) -> dict[str, int]:
    """How many units each assembly is made up into: as many as divide the quantities of all its lines."""
    units: dict[str, int] = {}
    for line in lines:
        if line.assembly:
            units[line.assembly] = gcd(units.get(line.assembly, 0), line.quantity)
    return units


def units_needed(need: Need, marks: Sequence[Mapping[str, int]]) -> dict[str, int]:
    """By assembly, how many units of one mark it takes to hold these pieces; `marks`: for each line, mark -> pieces."""
    units = units_of(need.lines)
    needed: dict[str, Counter[str]] = {name: Counter() for name in units}
    for line, on_line in zip(need.lines, marks, strict=True):
        if line.assembly:
            a_unit = line.quantity // units[line.assembly]
            for mark, count in on_line.items():
                if mark:
                    needed[line.assembly][mark] = max(needed[line.assembly][mark], -(-count // a_unit))
    return {name: of_mark.total() for name, of_mark in needed.items()}


def slots_of(job: int, need: Need, held: Sequence[Counter[str]] = ()) -> Iterator[Slot]:
    """The lines of a job as slots, in order. `held`: for each line, mark -> pieces that lie there already."""
    units = units_of(need.lines)
    for place, line in enumerate(need.lines):
        count = units.get(line.assembly, 1)
        lies = held[place] if held else Counter[str]()
        yield Slot(
            job=job,
            line=line.name,
            quantity=max(line.quantity - lies.total(), 0),
            assembly=line.assembly,
            per_unit=line.quantity // count if line.assembly else 1,
            units=count if line.assembly else 0,
            held=tuple(sorted(lies.items())),
        )


def option_of(candidate: Candidate, slot: int, seen: Line, rank: int, need: Need, places: int) -> Option:
    """A piece that is fit for a line, `seen` as its kind sees it, as an option; `places`: see `places_of_width`."""
    days, width_mm = cost_of(candidate, need.return_on)
    return Option(
        piece=candidate.tag,
        slot=slot,
        days=days,
        width=int(width_mm.scaleb(places)),
        rank=rank,
        starts=need.load_on.toordinal(),
        ends=(need.return_on + timedelta(days=seen.turn_round_days)).toordinal(),
    )


def places_of_width(candidates: Iterable[Candidate]) -> int:
    """How many decimal places widths are counted in: micrometres, finer where a bore is written finer."""
    bores = [bore for each in candidates for bore in (each.bore_min_mm, each.bore_max_mm) if bore is not None]
    return max([3, *(-_exponent(bore) for bore in bores)])


def _exponent(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    if not isinstance(exponent, int):
        raise ValueError(f"a bore of {value} mm is no length")
    return exponent
