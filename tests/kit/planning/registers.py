"""Small made-up registers for the property tests: few values, so that ties and clashes are common."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise

AS_OF = date(2026, 11, 2)
HERE, AWAY = "NORTH", "SOUTH"
JOB, OTHER_JOBS = "J1", ("J2", "J3")
KINDS = ("bag", "head")
MATCHES = ("any", "bore", "mark", "bore+mark")
RANGES = (None, ("100", "200"), ("150", "250"), ("180", "260.5"), ("90", "140"))


def day(offset: int) -> date:
    return AS_OF + timedelta(days=offset)


def days(first: int, last: int) -> st.SearchStrategy[date]:
    return st.integers(first, last).map(day)


def mostly(usual: object, *others: object) -> st.SearchStrategy:
    """The usual value about as often as all others together."""
    return st.one_of(st.just(usual), st.just(usual), st.sampled_from(others))


sound_gates = st.builds(Gate, st.sampled_from(("hold test", "visual")), st.just("dated"), days(10, 14))
any_gates = st.one_of(
    st.builds(Gate, st.just("hold test"), st.just("dated"), days(-2, 14)),
    st.builds(Gate, st.just("visual"), st.just("never")),
    st.builds(Gate, st.just("after use"), st.just("dated"), days(-3, 12), note=st.just("used on J0")),
    st.builds(Gate, st.just("leak test"), st.just("failed"), days(-3, 0), days(-3, 0)),
)


@st.composite
def promises(draw: st.DrawFn) -> Promise:
    starts = draw(st.integers(-4, 12))
    ends = starts + draw(st.integers(0, 4))
    job = draw(st.sampled_from((JOB, *OTHER_JOBS)))
    return Promise(job, day(starts), day(ends), issued=draw(st.booleans()) and starts <= 0)


@st.composite
def pieces(draw: st.DrawFn, tag: str, kinds: tuple[str, ...] = KINDS, most: int = 1) -> Candidate:
    """A piece with nothing wrong more often than not: else there is nothing to choose between."""
    low_high = draw(st.sampled_from(RANGES[1:4] + RANGES))
    sound = Candidate(
        tag=tag,
        kind=draw(st.sampled_from(kinds)),
        depot=HERE,
        use_by=draw(st.one_of(st.none(), days(9, 13))),
        gates=tuple(draw(st.lists(sound_gates, max_size=1))),
        bore_min_mm=Decimal(low_high[0]) if low_high else None,
        bore_max_mm=Decimal(low_high[1]) if low_high else None,
        mark=draw(st.sampled_from(("II", " ii ", "II", "II", "III", ""))),
        quantity=draw(st.integers(0, most)) if most > 1 else 1,
    )
    faults = (
        draw(st.lists(st.sampled_from(sorted(FAULTS)), min_size=1, max_size=2))
        if draw(mostly(False, True))
        else ()
    )
    for fault in faults:
        sound = replace(sound, **draw(FAULTS[fault]))
    return sound


FAULTS: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "gates": st.fixed_dictionaries(
        {"gates": st.lists(any_gates, max_size=2, unique_by=lambda gate: gate.check).map(tuple)}
    ),
    "use_by": st.fixed_dictionaries({"use_by": days(-1, 13)}),
    "state": st.fixed_dictionaries({"state": st.sampled_from(("quarantined", "withdrawn", "lost"))}),
    "promises": st.fixed_dictionaries({"promises": st.lists(promises(), max_size=2).map(tuple)}),
    "more promises": st.fixed_dictionaries({"promises": st.lists(promises(), max_size=2).map(tuple)}),
    "on site": st.fixed_dictionaries(
        {"custody": st.just("on-site"), "promises": st.lists(promises(), max_size=2).map(tuple)}
    ),
    "depot": st.fixed_dictionaries({"depot": st.just(AWAY)}),
    "transit": st.fixed_dictionaries(
        {
            "custody": st.just("in-transit"),
            "depot": st.sampled_from((HERE, AWAY)),
            "transit_to": st.sampled_from((HERE, HERE, AWAY)),
            "arrives_on": st.one_of(st.none(), days(-1, 8)),
        }
    ),
}


kind_settings = st.fixed_dictionaries({"margin_days": mostly(0, 0, 2), "turn_round_days": mostly(0, 0, 1)})


@st.composite
def lines(draw: st.DrawFn, name: str, settings: dict[str, dict[str, int]], counted: bool = False) -> Line:
    kind = draw(st.sampled_from(sorted(settings)))
    return Line(
        name=name,
        kind=kind,
        quantity=draw(st.integers(1, 3)),
        match=draw(mostly("any", *MATCHES)),
        counted=counted,
        **settings[kind],
    )


@st.composite
def needs(
    draw: st.DrawFn, most_lines: int = 4, kinds: tuple[str, ...] = KINDS, counted: bool = False
) -> Need:
    load_on = draw(st.integers(0, 6))
    count = draw(st.integers(1, most_lines))
    settings = {kind: draw(kind_settings) for kind in kinds}
    return Need(
        job=JOB,
        depot=HERE,
        load_on=day(load_on),
        return_on=day(load_on + draw(st.integers(0, 3))),
        bore_mm=draw(mostly(Decimal("165.2"), Decimal("165.2"), Decimal("200"), Decimal("250.1"), None)),
        base_mark=draw(mostly("II", "II", "III", "")),
        lines=tuple(draw(lines(f"line {index}", settings, counted)) for index in range(count)),
    )


@st.composite
def registers(draw: st.DrawFn, most: int = 7) -> tuple[Candidate, ...]:
    # Tags out of order of creation, so that an order of tags is not an order of the list.
    size = draw(st.sampled_from([most, *range(most + 1)]))
    tags = draw(st.permutations([f"T{number}" for number in range(size)]))
    return tuple(draw(pieces(tag)) for tag in tags)


@st.composite
def lot_registers(draw: st.DrawFn, most: int = 4) -> tuple[Candidate, ...]:
    tags = draw(st.permutations([f"L{number}" for number in range(draw(st.integers(0, most)))]))
    return tuple(draw(pieces(tag, ("seal",), most=3)) for tag in tags)


@st.composite
def holdings(draw: st.DrawFn, need: Need, register: tuple[Candidate, ...]) -> tuple[Held, ...]:
    """What the job holds already: whole pieces on lines of their kind, never more than a line needs."""
    held = []
    room = {line.name: line.quantity for line in need.lines}
    for piece in register:
        places = [line for line in need.lines if line.kind == piece.kind and room[line.name]]
        if places and draw(mostly(False, True)):
            line = draw(st.sampled_from(places))
            most = min(room[line.name], piece.quantity) if line.counted else 1
            if most:
                quantity = draw(st.integers(1, most))
                held.append(Held(line.name, piece.tag, quantity))
                room[line.name] -= quantity
    return tuple(held)
