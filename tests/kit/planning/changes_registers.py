"""Small made-up jobs that are short, with what is known beside: benches, ways, and other jobs that may be moved."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from hypothesis import strategies as st

from kit.planning.refusal import Known, OtherJob
from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise
from tests.kit.planning.changes_by_hand import Asked
from tests.kit.planning.coupled_registers import (
    KINDS,
    LOT_KINDS,
    coupled_holdings,
    coupled_needs,
    coupled_registers,
)
from tests.kit.planning.registers import (
    AS_OF,
    AWAY,
    HERE,
    OTHER_JOBS,
    day,
    days,
    holdings,
    mostly,
    needs,
    registers,
)

MENDABLE = {
    "due": st.fixed_dictionaries({"gates": days(-2, 6).map(lambda on: (Gate("hold test", "dated", on),))}),
    "two checks": st.just(
        {"gates": (Gate("visual", "never"), Gate("hold test", "dated", AS_OF, note="used on J0"))}
    ),
    "quarantined": st.just({"state": "quarantined"}),
    "away": st.just({"depot": AWAY}),
    "late": st.fixed_dictionaries(
        {
            "custody": st.just("in-transit"),
            "depot": st.sampled_from((HERE, AWAY)),
            "transit_to": st.just(HERE),
            "arrives_on": days(-1, 8),
        }
    ),
}


@st.composite
def with_faults(draw: st.DrawFn, need: Need, piece: Candidate) -> Candidate:
    """A piece of a kind that the job wants, with a thing or two wrong that somebody can mend."""
    kinds = sorted({line.kind for line in need.lines if not line.counted})
    if draw(mostly(True, False)) and kinds:
        piece = Candidate(
            piece.tag,
            draw(st.sampled_from(kinds)),
            HERE,
            bore_min_mm=Decimal(100),
            bore_max_mm=Decimal(260),
            mark=draw(mostly("II", "III")),
            set_name=piece.set_name,
        )
    for fault in draw(st.lists(st.sampled_from(sorted(MENDABLE)), max_size=2, unique=True)):
        piece = replace(piece, **draw(MENDABLE[fault]))
    return piece


@st.composite
def renewals(draw: st.DrawFn, register: tuple[Candidate, ...]) -> dict:
    """Until when each check would hold: some for long, some for a few days, some that no pass would mend."""
    found = {}
    for piece in register:
        for gate in piece.gates:
            lasts = draw(mostly(90, 90, 4, 0))
            if gate.status != "failed" and lasts:
                found[piece.tag, gate.check] = {day(n): day(n + lasts) for n in range(-2, 12)}
    return found


@st.composite
def other_jobs(
    draw: st.DrawFn, need: Need, register: tuple[Candidate, ...]
) -> tuple[tuple[Candidate, ...], tuple[OtherJob, ...]]:
    """The register with its promises made anew, each as the job it is made to has it, and those jobs."""
    kinds = {line.kind: line for line in need.lines} | {
        other.kind: replace(
            line, kind=other.kind, margin_days=other.margin_days, turn_round_days=other.turn_round_days
        )
        for line in need.lines
        for other in line.substitutes
    }
    pieces = [replace(piece, promises=()) for piece in register]
    jobs = []
    for name in OTHER_JOBS:
        starts = draw(st.integers(-1, 6))
        window = day(starts), day(starts + draw(st.integers(0, 3)))
        may_move = draw(mostly(True, False))
        issued = not may_move and starts <= 0 and draw(st.booleans())
        held = []
        for place, piece in enumerate(pieces):
            line = kinds.get(piece.kind)
            if line is None or line.counted or not draw(mostly(True, False)):
                continue
            ends = window[1] + timedelta(days=line.turn_round_days)
            if any(p.starts <= ends and p.ends >= window[0] for p in piece.promises):
                continue
            pieces[place] = replace(piece, promises=(*piece.promises, Promise(name, window[0], ends, issued)))
            held.append(Held(f"any {piece.kind}", piece.tag))
        lines = tuple(
            Line(f"any {kind}", kind, 9, "any", False, line.margin_days, line.turn_round_days)
            for kind, line in kinds.items()
        )
        depot = draw(mostly(HERE, HERE, AWAY))
        other = Need(name, depot, *window, lines=lines)
        jobs.append(OtherJob(other, tuple(held), draw(mostly(1, 1, 2)), may_move))
    return tuple(pieces), tuple(jobs)


@st.composite
def asked(draw: st.DrawFn, coupled: bool) -> Asked:
    need = draw(coupled_needs() if coupled else needs(most_lines=3))
    if draw(mostly(True, False)):
        need = replace(need, bore_mm=need.bore_mm or Decimal("165.2"), base_mark="II")
    register = draw(coupled_registers(most=5) if coupled else registers(most=5))
    register = tuple(
        draw(with_faults(need, piece)) if draw(mostly(True, False)) else piece for piece in register
    )
    register, jobs = draw(other_jobs(need, register))
    held = draw(coupled_holdings(need, register) if coupled else holdings(need, register))
    known = Known(
        renewals=draw(st.one_of(st.none(), renewals(register))),
        link_days=draw(mostly({(AWAY, HERE): 1}, {(AWAY, HERE): 3}, {})),
        jobs=jobs,
        most_days=draw(st.sampled_from((3, 5))),
    )
    return Asked(need, register, AS_OF, held, known)


__all__ = ["KINDS", "LOT_KINDS", "asked"]
