"""An item is refused with every reason there is, each with its code, its day and what would mend it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.planning import REASON_CODES, Candidate, Gate, Line, Need, Promise, is_fit, reasons_for
from tests.counts import cases
from tests.kit.planning import by_hand
from tests.kit.planning.registers import AS_OF, needs, pieces

LOAD, RETURN = date(2026, 11, 10), date(2026, 11, 12)
BAGS = Line("bags", "bag", 5, "bore")
HEADS = Line("heads", "bagging head", 2, "mark")
NEED = Need("J1", "NORTH", LOAD, RETURN, Decimal("165.2"), "II", (BAGS, HEADS))
BAG = Candidate(
    "BAG-1", "bag", "NORTH", bore_min_mm=Decimal(150), bore_max_mm=Decimal("165.2"), use_by=date(2027, 3, 31)
)


def given_for(piece: Candidate, line: Line = BAGS, need: Need = NEED) -> list[tuple[str, date | None]]:
    """Codes and days of the reasons, each sentence checked for being one."""
    reasons = reasons_for(piece, line, need, AS_OF)
    for reason in reasons:
        assert reason.text[0].isupper()
        assert reason.text.endswith(".")
    assert is_fit(piece, line, need, AS_OF) is (not reasons)
    return [(reason.code, reason.date) for reason in reasons]


def test_nothing_wrong_gives_no_reason() -> None:
    assert given_for(BAG) == []


@pytest.mark.parametrize("margin", [0, 3])
def test_in_date_means_to_the_day(margin: int) -> None:
    line = replace(BAGS, margin_days=margin)
    last = RETURN + timedelta(days=margin)
    dated = Gate("hold test", "dated", last, date(2026, 5, 1))
    assert given_for(replace(BAG, use_by=last, gates=(dated,)), line) == []
    day_before = last - timedelta(days=1)
    late = replace(BAG, use_by=day_before, gates=(replace(dated, due_on=day_before),))
    assert given_for(late, line) == [
        ("use-by-before-return", day_before),
        ("check-due-before-return", day_before),
    ]


def test_a_date_that_has_passed_says_so() -> None:
    gone = date(2026, 10, 1)
    use_by, due = reasons_for(
        replace(BAG, use_by=gone, gates=(Gate("hold test", "dated", gone),)),
        BAGS,
        NEED,
        AS_OF,
    )
    assert (use_by.code, use_by.date) == ("use-by-before-return", gone)
    assert "has passed" in use_by.text
    assert (due.code, due.date) == ("check-due-before-return", gone)
    assert "overdue since 2026-10-01" in due.text


def test_each_gate_gives_its_own_reason_and_a_failed_one_only_that() -> None:
    piece = replace(
        BAG,
        gates=(
            Gate("visual", "never"),
            Gate("hold test", "failed", date(2026, 10, 20), date(2026, 10, 20)),
            Gate("valve", "dated", date(2026, 11, 1)),
            Gate("seals", "dated", date(2026, 11, 11)),
        ),
    )
    assert given_for(piece) == [
        ("check-due-before-return", date(2026, 11, 11)),
        ("check-due-before-return", date(2026, 11, 1)),
        ("never-checked", None),
        ("last-check-failed", date(2026, 10, 20)),
    ]


def test_called_for_by_a_use_it_waits_even_on_that_day() -> None:
    after_use = Gate("after use", "dated", date(2026, 12, 24), note="used on J0")
    assert given_for(replace(BAG, gates=(after_use,))) == [("check-due-before-return", date(2026, 12, 24))]
    assert "used on J0" in reasons_for(replace(BAG, gates=(after_use,)), BAGS, NEED, AS_OF)[0].text


@pytest.mark.parametrize("state", ["quarantined", "withdrawn", "lost"])
def test_state(state: str) -> None:
    piece = replace(BAG, state=state, state_why="failed on J0")
    assert given_for(piece) == [(state, None)]
    assert "failed on J0" in reasons_for(piece, BAGS, NEED, AS_OF)[0].text


@pytest.mark.parametrize(
    ("starts", "ends", "overlaps"),
    [
        (date(2026, 11, 5), date(2026, 11, 9), False),
        (date(2026, 11, 5), LOAD, True),
        (date(2026, 11, 11), date(2026, 11, 11), True),
        (date(2026, 11, 14), date(2026, 11, 20), True),
        (date(2026, 11, 15), date(2026, 11, 20), False),
    ],
)
def test_promise_to_another_job_within_window_and_turn_round(
    starts: date, ends: date, overlaps: bool
) -> None:
    line = replace(BAGS, turn_round_days=2)
    promised = replace(BAG, promises=(Promise("J2", starts, ends),))
    issued = replace(BAG, custody="on-site", promises=(Promise("J2", starts, ends, issued=True),))
    assert given_for(promised, line) == ([("promised-elsewhere", ends)] if overlaps else [])
    assert given_for(issued, line) == ([("on-site", ends)] if overlaps else [])


def test_promise_to_the_job_itself_is_no_reason() -> None:
    own = (Promise("J1", LOAD, RETURN), Promise("J1", LOAD, RETURN, issued=True))
    assert given_for(replace(BAG, promises=own, custody="on-site")) == []


def test_overdue_from_a_site_is_not_counted_on() -> None:
    late = replace(
        BAG, custody="on-site", promises=(Promise("J2", date(2026, 10, 1), date(2026, 11, 1), True),)
    )
    assert given_for(late) == [("on-site", None)]
    assert "overdue from J2 since 2026-11-01" in reasons_for(late, BAGS, NEED, AS_OF)[0].text
    back_today = replace(late, promises=(Promise("J2", date(2026, 10, 1), AS_OF, True),))
    assert given_for(back_today) == []


def test_on_a_site_that_no_job_knows_of() -> None:
    assert given_for(replace(BAG, custody="on-site")) == [("on-site", None)]


def test_bore_range_includes_both_ends_and_must_be_known() -> None:
    assert given_for(replace(BAG, bore_max_mm=Decimal("165.1"))) == [("wrong-bore", None)]
    assert given_for(replace(BAG, bore_min_mm=Decimal("165.2"))) == []
    assert given_for(replace(BAG, bore_min_mm=None)) == [("wrong-bore", None)]
    assert given_for(BAG, need=replace(NEED, bore_mm=None)) == [("wrong-bore", None)]


def test_mark_is_compared_as_it_is_read_and_must_be_known() -> None:
    head = Candidate("HED-1", "bagging head", "NORTH", mark=" ii ")
    assert given_for(head, HEADS) == []
    assert given_for(replace(head, mark="III"), HEADS) == [("wrong-mark", None)]
    assert given_for(replace(head, mark="  "), HEADS) == [("wrong-mark", None)]
    assert given_for(replace(head, mark=""), HEADS, replace(NEED, base_mark="")) == [("wrong-mark", None)]


@pytest.mark.parametrize(
    ("to", "arrives_on", "expected"),
    [
        ("NORTH", date(2026, 11, 9), []),
        ("NORTH", LOAD, [("in-transit", LOAD), ("other-depot", None)]),
        ("NORTH", None, [("in-transit", None), ("other-depot", None)]),
        ("NORTH", date(2026, 11, 1), [("in-transit", None), ("other-depot", None)]),
        ("EAST", date(2026, 11, 9), [("in-transit", None), ("other-depot", None)]),
    ],
)
def test_on_the_way(to: str, arrives_on: date | None, expected: list) -> None:
    coming = replace(BAG, depot="SOUTH", custody="in-transit", transit_to=to, arrives_on=arrives_on)
    assert given_for(coming) == expected


def test_at_another_depot_or_leaving_this_one() -> None:
    assert given_for(replace(BAG, depot="SOUTH")) == [("other-depot", None)]
    leaving = replace(BAG, custody="in-transit", transit_to="SOUTH", arrives_on=date(2026, 11, 3))
    assert given_for(leaving) == [("in-transit", None)]


def test_rest_of_a_lot_is_not_refused_for_what_others_were_promised() -> None:
    line = Line("seals", "seal", 4, counted=True)
    lot = Candidate("S-1", "seal", "NORTH", quantity=3, promises=(Promise("J2", LOAD, RETURN),))
    assert given_for(lot, line) == []
    assert given_for(replace(lot, quantity=0), line) == [("promised-elsewhere", RETURN)]


def test_all_at_once_in_the_order_of_the_codes() -> None:
    wreck = Candidate(
        "BAG-9",
        "bag",
        "SOUTH",
        state="quarantined",
        custody="in-transit",
        transit_to="EAST",
        use_by=date(2026, 11, 1),
        gates=(
            Gate("a", "failed", None, date(2026, 10, 1)),
            Gate("b", "never"),
            Gate("c", "dated", date(2026, 11, 2)),
        ),
        mark="I",
        promises=(Promise("J2", LOAD, LOAD), Promise("J3", date(2026, 10, 1), date(2026, 10, 2), True)),
    )
    given_codes = [code for code, _ in given_for(wreck, replace(BAGS, match="bore+mark"))]
    assert given_codes == [
        code for code in REASON_CODES if code not in ("withdrawn", "lost", "set-not-whole")
    ]


@settings(max_examples=cases(300))
@given(pieces("T1", ("bag",), most=2), needs(kinds=("bag",)), st.booleans())
def test_same_codes_as_worked_out_by_hand(piece: Candidate, need: Need, counted: bool) -> None:
    line = replace(need.lines[0], counted=counted)
    codes = [code for code, _ in given_for(piece, line, need)]
    assert sorted(codes) == by_hand.codes(piece, line, need, AS_OF)
    assert codes == sorted(codes, key=REASON_CODES.index)
