"""A short line says what would fill it: an inspection, a release, another job's piece, a transfer, a later day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from hypothesis import given, settings

from kit.planning import Candidate, Gate, Line, Need, Promise, draw_up
from tests.counts import cases
from tests.kit.planning import by_hand
from tests.kit.planning.registers import AS_OF, AWAY, HERE, needs, registers

NEED = Need("J1", "NORTH", date(2026, 11, 10), date(2026, 11, 12), lines=(Line("bags", "bag", 2),))
FREE = Candidate("B1", "bag", "NORTH")
DUE = Candidate("B2", "bag", "NORTH", gates=(Gate("hold test", "dated", date(2026, 11, 11)),))
NEVER = Candidate("B3", "bag", "NORTH", gates=(Gate("hold test", "never"),))
SET_ASIDE = Candidate("B4", "bag", "NORTH", state="quarantined")
PROMISED = Candidate("B5", "bag", "NORTH", promises=(Promise("J2", date(2026, 11, 9), date(2026, 11, 11)),))
COMING = Candidate(
    "B6", "bag", "SOUTH", custody="in-transit", transit_to="NORTH", arrives_on=date(2026, 11, 10)
)
OTHER_DEPOT = Candidate("B7", "bag", "SOUTH")
WITHDRAWN = Candidate("B8", "bag", "NORTH", state="withdrawn")


def remedy(*register: Candidate, need: Need = NEED) -> str:
    return draw_up(need, register, AS_OF).lines[0].remedy


def test_one_way_each() -> None:
    assert remedy(FREE, DUE) == "Inspect B2."
    assert remedy(FREE, SET_ASIDE) == "Release B4 from quarantine."
    assert remedy(FREE, PROMISED) == "Free B5 from another job; or load on 2026-11-12 or later."
    assert remedy(FREE, COMING) == "Have B6 here before 2026-11-10; or load on 2026-11-11 or later."
    assert remedy(FREE, OTHER_DEPOT) == "Transfer B7 from SOUTH."
    assert remedy(FREE, WITHDRAWN) == "Buy or borrow 1: nothing on the register would mend it."


def test_several_ways_and_how_far_each_goes() -> None:
    assert remedy(DUE, SET_ASIDE) == (
        "Inspect B2 (brings 1 of 2); or release B4 from quarantine (brings 1 of 2)."
    )
    assert remedy(DUE, WITHDRAWN) == "Inspect B2 (brings 1 of 2); 1 must be bought or borrowed in any case."


def test_names_a_few_only() -> None:
    due = [replace(DUE, tag=f"B1{number}") for number in range(5)]
    assert remedy(FREE, *due[:2]) == "Inspect B10 or B11."
    assert remedy(FREE, *due) == "Inspect B10, B11, B12 or one of 2 more."


def test_what_two_things_keep_back_is_not_promised_by_mending_one() -> None:
    assert remedy(FREE, replace(DUE, state="quarantined")) == "Mend more than one thing about B2."
    assert remedy(FREE, replace(DUE, state="withdrawn")).startswith("Buy or borrow 1")


def test_pieces_of_other_depots_may_be_given_apart_or_shown() -> None:
    apart = draw_up(NEED, [FREE], AS_OF, elsewhere=[OTHER_DEPOT])
    shown = draw_up(NEED, [FREE, OTHER_DEPOT], AS_OF, all_depots=True)
    assert apart.lines[0].remedy == shown.lines[0].remedy == "Transfer B7 from SOUTH."
    assert apart.refused == ()
    assert [(each.tag, each.line) for each in shown.refused] == [("B7", "bags")]


def test_a_piece_for_another_line_can_free_the_one_that_fits_here() -> None:
    need = replace(
        NEED,
        bore_mm=Decimal("165.2"),
        lines=(Line("any bag", "bag", 1), Line("bags for the bore", "bag", 1, "bore")),
    )
    suits = replace(FREE, bore_min_mm=Decimal(150), bore_max_mm=Decimal(180))
    kit_list = draw_up(need, [suits, DUE], AS_OF)
    assert [(line.tags, line.short, line.remedy) for line in kit_list.lines] == [
        (("B1",), 0, ""),
        ((), 1, "Inspect B2."),
    ]


def test_missing_bore_or_mark_comes_first() -> None:
    bore = replace(NEED, lines=(Line("bags", "bag", 2, "bore"),))
    assert remedy(FREE, DUE, need=bore).startswith("Enter the bore of the job's main")
    mark = replace(NEED, lines=(Line("bags", "bag", 2, "mark"),))
    assert remedy(FREE, DUE, need=mark).startswith("Enter the mark of the job's bases")


def test_counted_kind_says_how_many() -> None:
    need = replace(NEED, lines=(Line("seals", "seal", 7, counted=True),))
    lot = Candidate("S1", "seal", "NORTH", quantity=4)
    assert remedy(lot, need=need) == "Buy or borrow 3: nothing on the register would mend it."
    assert remedy(lot, replace(lot, tag="S2", state="quarantined", quantity=2), need=need) == (
        "Release S2 from quarantine (brings 2 of 3); 1 must be bought or borrowed in any case."
    )


def _inspected(piece: Candidate) -> Candidate:
    return replace(piece, gates=tuple(gate for gate in piece.gates if gate.status == "failed"))


def _released(piece: Candidate) -> Candidate:
    return replace(piece, state="available") if piece.state == "quarantined" else piece


def _transferred(piece: Candidate) -> Candidate:
    return replace(piece, depot=HERE) if piece.depot == AWAY and piece.custody != "in-transit" else piece


@settings(max_examples=cases(200))
@given(needs(), registers())
def test_a_way_is_named_just_when_it_brings_something(need: Need, register: tuple[Candidate, ...]) -> None:
    need = replace(need, bore_mm=need.bore_mm or Decimal("165.2"), base_mark=need.base_mark or "II")
    _, short = by_hand.best_choice(need, register, AS_OF)
    kit_list = draw_up(need, register, AS_OF)
    for word, mended in (("inspect", _inspected), ("release", _released), ("transfer", _transferred)):
        _, then = by_hand.best_choice(need, tuple(mended(piece) for piece in register), AS_OF)
        for line, before, after in zip(kit_list.lines, short, then, strict=True):
            assert (word in line.remedy.casefold()) is (before > after), line.remedy
