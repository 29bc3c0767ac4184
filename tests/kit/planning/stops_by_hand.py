"""How many stops can be mounted on a day, recounted the long way: one copy of the arrangement more at a time.

Every way to give the stops (and the units of assemblies) their marks is tried, and for each, whether every place on
every line of every stop finds a piece of its own, by a matching that scipy finds. Which piece would do is asked of
`by_hand.codes`, which knows the rules of reserving and nothing of readiness.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import chain, combinations_with_replacement, product
from math import gcd

from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from kit.planning.values import Candidate, Line, Need
from tests.kit.planning.by_hand import codes

Place = tuple[Line, str, str]  # a line, the mark of its stop, the mark of its unit ("" where it is in none)


def stops_by_hand(
    lines: Sequence[Line], pieces: Iterable[Candidate], bore_mm: Decimal, day: date, as_of: date, depot: str
) -> int:
    """The most stops of these lines that the depot's pieces make up on that day."""
    single = [replace(piece, quantity=1) for piece in pieces for _ in range(max(piece.quantity, 0))]
    usable = [piece for piece in single if not piece.set_name]
    marks = sorted({piece.mark.strip().casefold() for piece in usable} - {""}) or ["none"]
    number = 0
    while any(
        _can_be_filled(places, usable, bore_mm, day, as_of, depot)
        for places in _places(lines, number + 1, marks)
    ):
        number += 1
    return number


def _places(lines: Sequence[Line], stops: int, marks: Sequence[str]) -> Iterator[list[Place]]:
    """Every way to mark so many stops and their units, as the places that have to be filled."""
    assemblies = sorted({line.assembly for line in lines} - {""})
    units = {
        name: gcd(*(line.quantity for line in lines if line.assembly == name)) * stops for name in assemblies
    }
    by_mark = any("mark" in line.match for line in lines)
    for of_stops in combinations_with_replacement(marks, stops) if by_mark else [("",) * stops]:
        choices = [
            [tuple(sorted(of_stops * (units[name] // stops)))]
            if any(line.assembly == name and "mark" in line.match for line in lines)
            else combinations_with_replacement(marks, units[name])
            for name in assemblies
        ]
        for of_units in product(*choices):
            unit_marks = dict(zip(assemblies, of_units, strict=True))
            places: list[Place] = []
            for line in lines:
                if line.assembly:
                    each = line.quantity * stops // units[line.assembly]
                    places += [(line, mark, mark) for mark in unit_marks[line.assembly] for _ in range(each)]
                else:
                    places += [(line, mark, "") for mark in of_stops for _ in range(line.quantity)]
            yield places


def _can_be_filled(
    places: Sequence[Place],
    pieces: Sequence[Candidate],
    bore_mm: Decimal,
    day: date,
    as_of: date,
    depot: str,
) -> bool:
    fits = [
        [
            (row, column)
            for column, piece in enumerate(pieces)
            if _does(piece, place, Need("stop", depot, day, day, bore_mm, place[1]), as_of)
        ]
        for row, place in enumerate(places)
    ]
    if not all(fits):
        return False
    rows, columns = zip(*chain(*fits), strict=True)
    graph = csr_array(([1] * len(rows), (rows, columns)), shape=(len(places), len(pieces)))
    return bool((maximum_bipartite_matching(graph, perm_type="column") >= 0).all())


def _does(piece: Candidate, place: Place, need: Need, as_of: date) -> bool:
    line, _stop, unit = place
    for other in line.substitutes:
        if other.kind == piece.kind:
            line = replace(
                line, kind=other.kind, margin_days=other.margin_days, turn_round_days=other.turn_round_days
            )
    if piece.kind != line.kind or (unit and piece.mark.strip().casefold() != unit):
        return False
    return not codes(piece, line, need, as_of)
