"""Small made-up jobs with assemblies, sets, substitutes and lots, and registers for them: full of ties and clashes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from kit.planning.values import Candidate, Held, Line, Need, Substitute
from tests.kit.planning.registers import HERE, JOB, day, kind_settings, mostly, pieces

KINDS = ("bag", "head", "tube")
"""Kinds that lines ask for; pieces may be of one more, that no line takes."""
LOT_KINDS = ("seal", "tape")


@st.composite
def coupled_needs(draw: st.DrawFn, most_lines: int = 3, most: int = 2) -> Need:
    load_on = draw(st.integers(0, 6))
    settings = {kind: draw(kind_settings) for kind in (*KINDS, *LOT_KINDS)}
    lines = [
        draw(_lines(f"line {n}", KINDS, settings, most)) for n in range(draw(st.integers(1, most_lines)))
    ]
    if draw(mostly(False, True)):
        seals = replace(draw(_lines("seals", LOT_KINDS, settings, 3)), counted=True, assembly="")
        lines.insert(draw(st.integers(0, len(lines))), seals)
    return Need(
        job=JOB,
        depot=HERE,
        load_on=day(load_on),
        return_on=day(load_on + draw(st.integers(0, 3))),
        bore_mm=draw(mostly(Decimal("165.2"), Decimal("200"), None)),
        base_mark=draw(mostly("II", "III", "")),
        lines=tuple(lines),
    )


@st.composite
def _lines(
    draw: st.DrawFn, name: str, kinds: tuple[str, ...], settings: dict[str, dict[str, int]], most: int
) -> Line:
    kind = draw(st.sampled_from(kinds))
    others = [other for other in kinds if other != kind]
    instead = draw(st.lists(st.sampled_from(others), max_size=2, unique=True)) if draw(st.booleans()) else []
    return Line(
        name=name,
        kind=kind,
        quantity=draw(st.integers(1, most)),
        match=draw(mostly("any", "any", "bore", "mark")),
        assembly=draw(mostly("", "mount", "mount", "stand")),
        substitutes=tuple(Substitute(other, draw(st.integers(1, 2)), **settings[other]) for other in instead),
        **settings[kind],
    )


@st.composite
def coupled_registers(draw: st.DrawFn, most: int = 6) -> tuple[Candidate, ...]:
    size = draw(st.sampled_from([most, most, *range(most + 1)]))
    tags = draw(st.permutations([f"T{number}" for number in range(size)]))
    found = []
    for tag in tags:
        if draw(mostly(False, False, True)):
            found.append(draw(pieces(tag, LOT_KINDS, most=3)))
            continue
        piece = draw(pieces(tag, (*KINDS, *KINDS, "gauge")))
        marks = st.sampled_from(("II", "II", " ii", "III", "III", ""))
        found.append(replace(piece, mark=draw(marks), set_name=draw(mostly("", "S", "S", "T"))))
    return tuple(found)


@st.composite
def coupled_holdings(draw: st.DrawFn, need: Need, register: tuple[Candidate, ...]) -> tuple[Held, ...]:
    """What the job holds already: on lines that take its kind, and never more than a line needs."""
    held = []
    room = {line.name: line.quantity for line in need.lines}
    for piece in register:
        places = [
            line
            for line in need.lines
            if piece.kind in (line.kind, *(other.kind for other in line.substitutes)) and room[line.name]
        ]
        if places and draw(mostly(False, False, True)):
            line = draw(st.sampled_from(places))
            most = min(room[line.name], piece.quantity) if line.counted else 1
            if most:
                quantity = draw(st.integers(1, most))
                held.append(Held(line.name, piece.tag, quantity))
                room[line.name] -= quantity
    return tuple(held)
