"""The same questions answered the long way: every choice is tried, every day is walked through.

Written from the rules alone, sharing nothing with the code under test but the values, so that the two can
be wrong together only by misreading the same sentence.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from itertools import product

from kit.planning.values import Candidate, Held, Line, Need

Choice = tuple[
    tuple[str, ...], ...
]  # for each line, the tag of each piece on it, sorted; a lot's tag once a piece


def _days(first: date, last: date) -> set[date]:
    return {first + timedelta(days=offset) for offset in range((last - first).days + 1)}


def codes(piece: Candidate, line: Line, need: Need, as_of: date) -> list[str]:
    """The reason codes that speak against a piece on a line, one for each thing wrong, sorted."""
    found = []
    fit_for = need.return_on + timedelta(days=line.margin_days)
    if piece.use_by and fit_for > piece.use_by:
        found.append("use-by-before-return")
    for gate in piece.gates:
        if gate.status == "never":
            found.append("never-checked")
        if gate.status == "failed":
            found.append("last-check-failed")
        if gate.status == "dated" and (gate.note or fit_for > gate.due_on):  # a note: a use calls for it
            found.append("check-due-before-return")
    if piece.state != "available":
        found.append(piece.state)
    window = _days(need.load_on, need.return_on + timedelta(days=line.turn_round_days))
    if not (line.counted and piece.quantity > 0):
        for promise in piece.promises:
            if promise.job != need.job:
                overdue = promise.issued and promise.ends < as_of
                # What is promised of a lot is used up on that job, whenever that is.
                if overdue or line.counted or window & _days(promise.starts, promise.ends):
                    found.append("on-site" if promise.issued else "promised-elsewhere")
        if piece.custody == "on-site" and not [promise for promise in piece.promises if promise.issued]:
            found.append("on-site")
    if "bore" in line.match and (
        need.bore_mm is None
        or piece.bore_min_mm is None
        or not (piece.bore_min_mm <= need.bore_mm <= piece.bore_max_mm)
    ):
        found.append("wrong-bore")
    marks = piece.mark.strip().lower(), need.base_mark.strip().lower()
    if "mark" in line.match and (not marks[0] or marks[0] != marks[1]):
        found.append("wrong-mark")
    on_time = (
        piece.custody == "in-transit"
        and piece.transit_to == need.depot
        and piece.arrives_on is not None
        and piece.arrives_on >= as_of
        and piece.arrives_on < need.load_on
    )
    if piece.custody == "in-transit" and not on_time:
        found.append("in-transit")
    if piece.depot != need.depot and not on_time:
        found.append("other-depot")
    return sorted(found)


def here(register: Iterable[Candidate], need: Need, all_depots: bool = False) -> list[Candidate]:
    return [
        piece
        for piece in register
        if all_depots or need.depot == piece.depot or need.depot == piece.transit_to
    ]


def _days_left(piece: Candidate, need: Need) -> int:
    limits = [gate.due_on for gate in piece.gates] + ([piece.use_by] if piece.use_by else [])
    return min((limit - need.return_on).days for limit in limits) if limits else 36_525


def _width(piece: Candidate) -> Decimal:
    return Decimal(0) if piece.bore_min_mm is None else piece.bore_max_mm - piece.bore_min_mm


def _spreads(most: int, places: Sequence[int], room: Sequence[int]) -> Iterator[dict[int, int]]:
    """Every way to spread up to `most` pieces of a lot over these lines."""
    for amounts in product(*(range(min(most, room[place]) + 1) for place in places)):
        if sum(amounts) <= most:
            yield dict(zip(places, amounts, strict=True))


@dataclass(frozen=True)
class Lot:
    """So many pieces of a tag, the lines they fit, and what each costs: days left, then width."""

    tag: str
    quantity: int
    places: tuple[int, ...]
    days: int
    width: Decimal


def best_spread(room: Sequence[int], lots: Sequence[Lot]) -> tuple[Choice, tuple[int, ...]]:
    """The best way to fill the lines and what each is short, found by trying every one."""
    best: tuple | None = None
    for spread in product(*(list(_spreads(lot.quantity, lot.places, room)) for lot in lots)):
        filled = [sum(amounts.get(place, 0) for amounts in spread) for place in range(len(room))]
        short = tuple(limit - amount for amount, limit in zip(filled, room, strict=True))
        if min(short, default=0) < 0 or (best is not None and (sum(short), short) > best[:2]):
            continue
        chosen = [(lot, sum(amounts.values())) for lot, amounts in zip(lots, spread, strict=True)]
        score = (
            sum(short),
            short,
            sum(lot.days * count for lot, count in chosen),
            sum((lot.width * count for lot, count in chosen), Decimal(0)),
            tuple(
                tuple(
                    sorted(
                        tag
                        for lot, amounts in zip(lots, spread, strict=True)
                        for tag in [lot.tag] * amounts.get(place, 0)
                    )
                )
                for place in range(len(room))
            ),
        )
        if best is None or score < best:
            best = score
    assert best is not None, "choosing nothing is always possible"
    return best[4], best[1]


def best_choice(
    need: Need, register: Iterable[Candidate], as_of: date, held: Sequence[Held] = ()
) -> tuple[Choice, tuple[int, ...]]:
    """The best choice of the whole job, beside what it holds already, and what each line is short."""
    on_line = [[each for each in held if each.line == line.name] for line in need.lines]
    room = [
        max(line.quantity - sum(each.quantity for each in held_here), 0)
        for line, held_here in zip(need.lines, on_line, strict=True)
    ]
    lots = []
    for piece in here(register, need):
        places = tuple(
            index
            for index, line in enumerate(need.lines)
            if line.kind == piece.kind and not codes(piece, line, need, as_of)
        )
        left = piece.quantity - sum(each.quantity for each in held if each.tag == piece.tag)
        if places and left > 0:
            lots.append(Lot(piece.tag, left, places, _days_left(piece, need), _width(piece)))
    choice, short = best_spread(room, lots)
    with_held = tuple(
        tuple(sorted([*tags, *(each.tag for each in held_here for _ in range(each.quantity))]))
        for tags, held_here in zip(choice, on_line, strict=True)
    )
    return with_held, short
