"""How many stops can be mounted where sets go whole or not at all, recounted by trying what goes where.

Every choice of sets, and every stop that each of them may go into, is tried; for each, whether the places of the
stops can all be filled, the pieces of a set going only into its stop, and all of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import combinations_with_replacement, product

from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

from kit.planning.values import Candidate, Line, Need
from tests.kit.planning.by_hand import codes

Choice = dict[str, int]
"""By set, the stop that it goes into."""


def stops_with_sets(
    lines: Sequence[Line], pieces: Iterable[Candidate], bore_mm: Decimal, day: date, as_of: date, depot: str
) -> int:
    """The most stops of these lines, none of them in an assembly, that the depot's pieces make up on that day."""
    usable = [replace(piece, quantity=1) for piece in pieces for _ in range(max(piece.quantity, 0))]
    names = sorted({piece.set_name for piece in usable} - {""})
    marks = sorted({piece.mark.strip().casefold() for piece in usable} - {""}) or ["none"]
    number = 0
    while any(
        _can_be_filled(lines, of_stops, _chosen(names, into), usable, bore_mm, day, as_of, depot)
        for of_stops in combinations_with_replacement(marks, number + 1)
        for into in product(range(-1, number + 1), repeat=len(names))
    ):
        number += 1
    return number


def _chosen(names: Sequence[str], into: Sequence[int]) -> Choice:
    return {name: stop for name, stop in zip(names, into, strict=True) if stop >= 0}


def _can_be_filled(
    lines: Sequence[Line],
    of_stops: Sequence[str],
    chosen: Choice,
    pieces: Sequence[Candidate],
    bore_mm: Decimal,
    day: date,
    as_of: date,
    depot: str,
) -> bool:
    places = [(line, stop) for line in lines for stop in range(len(of_stops)) for _ in range(line.quantity)]
    going = [piece for piece in pieces if not piece.set_name or piece.set_name in chosen]
    fits = [
        (row, column)
        for row, (line, stop) in enumerate(places)
        for column, piece in enumerate(going)
        if chosen.get(piece.set_name, stop) == stop
        and (seen := as_kind(line, piece.kind)) is not None
        and not codes(piece, seen, Need("stop", depot, day, day, bore_mm, of_stops[stop]), as_of)
    ]
    if not fits:
        return False
    rows, columns = zip(*fits, strict=True)
    graph = csr_array(([1] * len(rows), (rows, columns)), shape=(len(places), len(going)))
    if (maximum_bipartite_matching(graph, perm_type="column") < 0).any():
        return False
    # What fills all places and what uses all of the sets can be had in one (Mendelsohn and Dulmage).
    bound = [column for column, piece in enumerate(going) if piece.set_name]
    if not bound:
        return True
    of_sets = csr_array(graph.tocsc()[:, bound])
    return bool((maximum_bipartite_matching(of_sets, perm_type="row") >= 0).all())


def as_kind(line: Line, kind: str) -> Line | None:
    """The line as a piece of that kind sees it, None if it takes none."""
    for other in line.substitutes:
        if other.kind == kind:
            return replace(
                line, kind=kind, margin_days=other.margin_days, turn_round_days=other.turn_round_days
            )
    return line if line.kind == kind else None
