"""Small made-up seasons, few values each, and the same seasons asked of the search that tries every plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from random import Random

from kit.planning.exact import Job, Option, Piece, Problem, Promised, Slot
from kit.planning.rearranging import MovableJob, Season
from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise, Substitute

AS_OF = date(2026, 11, 2)
RANGES = (("100", "200"), ("150", "250"), ("150", "260.5"))
TURN_ROUND = {"bag": 1, "head": 0, "base": 0, "big bag": 0, "seal": 0}
MARGIN = {"bag": 0, "head": 1, "base": 0, "big bag": 1, "seal": 0}


def day(offset: int) -> date:
    return AS_OF + timedelta(days=offset)


def small_season(seed: int) -> Season:
    """Two or three jobs of one or two depots, at most six pieces, some of them promised."""
    draw = Random(seed)
    needs = sorted(
        (_need(draw, name) for name in ("J1", "J2", "J3")[: draw.choice((2, 2, 3))]),
        key=lambda need: (need.load_on, need.job),
    )
    # Mostly of kinds that are asked for: else everything is short.
    kinds = [
        line.kind for need in needs for line in need.lines if not line.counted for _ in range(line.quantity)
    ]
    kinds.append("big bag")
    candidates = tuple(_piece(draw, f"T{number}", draw.choice(kinds)) for number in range(draw.randint(4, 7)))
    if draw.random() < 0.9:
        candidates += (Candidate("L1", "seal", "NORTH", quantity=draw.randint(0, 6)),)
    held: dict[str, list[Held]] = {need.job: [] for need in needs}
    for piece in candidates:
        need = draw.choice(needs)
        places = [line for line in need.lines if line.kind == piece.kind]
        if places and draw.random() < 0.45:
            line = draw.choice(places)
            quantity = min(piece.quantity, line.quantity) if line.counted else 1
            if quantity and sum(each.line == line.name for each in held[need.job]) < line.quantity:
                held[need.job].append(Held(line.name, piece.tag, quantity))
    return Season(
        tuple(MovableJob(need, draw.choice((1, 1, 3)), tuple(held[need.job])) for need in needs),
        candidates,
        AS_OF,
    )


def _need(draw: Random, name: str) -> Need:
    load = draw.randint(0, 5)
    assembled = draw.random() < 0.3
    lines = [_line(draw, "bags", "bag", draw.choice((1, 1, 2)), draw.choice(("any", "bore")))]
    if draw.random() < 0.3:
        lines[0] = replace(lines[0], substitutes=(Substitute("big bag", 2, MARGIN["big bag"], 0),))
    if draw.random() < 0.5:
        match = draw.choice(("any", "mark"))
        lines.append(_line(draw, "heads", "head", 1, match, "stop" if assembled else ""))
    if assembled:
        lines.append(_line(draw, "bases", "base", draw.choice((1, 2)), "any", "stop"))
    if draw.random() < 0.3:
        lines.append(replace(_line(draw, "seals", "seal", draw.randint(1, 3), "any"), counted=True))
    return Need(
        job=name,
        depot=draw.choice(("NORTH",) * 7 + ("SOUTH",)),
        load_on=day(load),
        return_on=day(load + draw.randint(0, 3)),
        bore_mm=Decimal(draw.choice(("120", "165.2", "220"))),
        base_mark=draw.choice(("M3", "M3", "m7")),
        lines=tuple(lines),
    )


def _line(draw: Random, name: str, kind: str, quantity: int, match: str, assembly: str = "") -> Line:
    return Line(
        name,
        kind,
        quantity,
        match,  # type: ignore[arg-type]
        margin_days=MARGIN[kind],
        turn_round_days=TURN_ROUND[kind],
        assembly=assembly,
    )


def _piece(draw: Random, tag: str, kind: str) -> Candidate:
    low, high = draw.choice(RANGES)
    gates = ()
    if draw.random() < 0.6:
        gates = (Gate("inspection", "dated", day(draw.choice((4, 7, 9, 9, 30)))),)
    promises = ()
    if draw.random() < 0.15:
        starts = draw.randint(-2, 4)
        promises = (Promise("J9", day(starts), day(starts + 2), issued=starts < 0),)
    return Candidate(
        tag=tag,
        kind=kind,
        depot=draw.choice(("NORTH",) * 7 + ("SOUTH",)),
        state=draw.choice(("available",) * 14 + ("quarantined",)),
        use_by=draw.choice((None, None, day(6), day(40))),
        gates=gates,
        bore_min_mm=Decimal(low),
        bore_max_mm=Decimal(high),
        mark=draw.choice(("M3", " m3", "M7", "")),
        promises=promises,
        set_name=draw.choice(("", "", "", "pair")),
    )


def by_other_code(season: Season) -> Problem:
    """The season as the search that tries everything takes it: what may go where is found without the program's own."""
    slots, options, promised = [], [], []
    for place, movable in enumerate(season.jobs):
        need = movable.need
        for line in need.lines:
            number = len(slots)
            units = next(
                n
                for n in range(line.quantity, 0, -1)
                if all(
                    other.quantity % n == 0
                    for other in need.lines
                    if line.assembly and other.assembly == line.assembly
                )
            )
            slots.append(
                Slot(
                    place,
                    line.name,
                    line.quantity,
                    line.assembly,
                    line.quantity // units if line.assembly else 1,
                    units if line.assembly else 0,
                )
            )
            for piece in season.candidates:
                rank = _rank(piece, line)
                if rank is None or not _may_go(piece, line, need):
                    continue
                limits = [gate.due_on for gate in piece.gates] + ([piece.use_by] if piece.use_by else [])
                options.append(
                    Option(
                        piece.tag,
                        number,
                        min((limit - need.return_on).days for limit in limits) if limits else 36_525,
                        int((piece.bore_max_mm - piece.bore_min_mm) * 1000) if piece.bore_min_mm else 0,
                        rank,
                        (need.load_on - AS_OF).days,
                        (need.return_on - AS_OF).days + TURN_ROUND[piece.kind],
                    )
                )
            promised += [
                Promised(held.tag, number, held.quantity)
                for held in movable.promised
                if held.line == line.name
            ]
    return Problem(
        jobs=tuple(Job(movable.need.job, movable.priority) for movable in season.jobs),
        slots=tuple(slots),
        pieces=tuple(
            Piece(
                piece.tag,
                piece.quantity,
                piece.kind == "seal",
                f"{piece.set_name} of {piece.depot}" if piece.set_name else "",
                piece.mark.lower().replace(" ", ""),
            )
            for piece in season.candidates
        ),
        options=tuple(options),
        promised=tuple(promised),
    )


def _rank(piece: Candidate, line: Line) -> int | None:
    if piece.kind == line.kind:
        return 0
    return next((other.rank for other in line.substitutes if other.kind == piece.kind), None)


def _may_go(piece: Candidate, line: Line, need: Need) -> bool:
    last = need.return_on + timedelta(days=MARGIN[piece.kind])
    away_until = need.return_on + timedelta(days=TURN_ROUND[piece.kind])
    days = {need.load_on + timedelta(days=n) for n in range((away_until - need.load_on).days + 1)}
    return (
        piece.state == "available"
        and piece.depot == need.depot
        and (piece.use_by is None or piece.use_by >= last)
        and all(gate.due_on >= last for gate in piece.gates)
        and not any(promise.starts <= day <= promise.ends for promise in piece.promises for day in days)
        and (line.match != "bore" or piece.bore_min_mm <= need.bore_mm <= piece.bore_max_mm)
        and (
            line.match != "mark"
            or piece.mark.lower().replace(" ", "") == need.base_mark.lower().replace(" ", "")
        )
    )
