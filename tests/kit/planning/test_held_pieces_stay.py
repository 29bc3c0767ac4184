"""What a job holds already stays on its line as it is; the choice fills only what that leaves open."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from kit.planning import Candidate, Held, Line, Need, draw_up, to_json
from tests.kit.planning.registers import AS_OF

BAGS, SPARE = Line("bags", "bag", 2), Line("spare", "bag", 1)
NEED = Need("J1", "NORTH", date(2026, 11, 10), date(2026, 11, 12), lines=(BAGS, SPARE))
B1, B2, B3, B4 = (Candidate(f"B{number}", "bag", "NORTH") for number in (1, 2, 3, 4))


def test_held_pieces_are_not_moved_for_a_better_choice() -> None:
    kit_list = draw_up(NEED, [B1, B2, B3, B4], AS_OF, held=[Held("bags", "B4"), Held("spare", "B2")])
    assert [line.tags for line in kit_list.lines] == [("B1", "B4"), ("B2",)]
    assert [each.tag for each in kit_list.also_fit] == ["B3", "B3"]


def test_held_piece_that_is_no_longer_fit_stays_and_is_refused_on_the_other_line_only() -> None:
    failed = replace(B1, state="quarantined")
    kit_list = draw_up(NEED, [failed, B2, B3], AS_OF, held=[Held("bags", "B1")])
    assert [line.tags for line in kit_list.lines] == [("B1", "B2"), ("B3",)]
    assert [(each.tag, each.line) for each in kit_list.refused] == [("B1", "spare")]


def test_held_piece_that_is_elsewhere_by_now_counts_all_the_same() -> None:
    kit_list = draw_up(
        NEED, [B1, B2], AS_OF, held=[Held("spare", "B9")], elsewhere=[replace(B3, tag="B9", depot="SOUTH")]
    )
    assert [line.tags for line in kit_list.lines] == [("B1", "B2"), ("B9",)]
    assert kit_list.complete


def test_part_of_a_lot_held_leaves_the_rest_to_choose_from() -> None:
    need = replace(
        NEED, lines=(Line("seals", "seal", 5, counted=True), Line("more seals", "seal", 2, counted=True))
    )
    lot = Candidate("S2", "seal", "NORTH", quantity=4)
    other = Candidate("S1", "seal", "NORTH", quantity=2)
    kit_list = draw_up(need, [lot, other], AS_OF, held=[Held("seals", "S2", 3)])
    assert [(line.lots, line.short) for line in kit_list.lines] == [
        ((("S1", 2), ("S2", 3)), 0),
        ((("S2", 1),), 1),
    ]
    assert to_json(kit_list)["lines"][0] == {
        "line": "seals",
        "kind": "seal",
        "needed": 5,
        "lots": [{"lot": "S1", "quantity": 2}, {"lot": "S2", "quantity": 3}],
        "short": 0,
        "soonest": None,
        "remedy": "",
    }


def test_held_for_a_line_that_the_job_does_not_have() -> None:
    with pytest.raises(ValueError, match=r"J1 holds B1 for the line 'gauges'.*release B1"):
        draw_up(NEED, [B1], AS_OF, held=[Held("gauges", "B1")])
