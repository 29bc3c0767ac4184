"""The soonest day a short line would be full, compared with walking through the days one by one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.planning import Candidate, Gate, Held, Line, Need, Promise, draw_up
from tests.counts import cases
from tests.kit.planning import by_hand
from tests.kit.planning.registers import AS_OF, day, holdings, lot_registers, needs, registers

LAST_DAY = day(20)
"""Later than every date in the made-up registers, so nothing changes from there on."""


def _walk(need: Need, register: tuple[Candidate, ...], line: int) -> date | None:
    length = need.return_on - need.load_on
    load_on = need.load_on + timedelta(days=1)
    while load_on <= LAST_DAY:
        later = replace(need, load_on=load_on, return_on=load_on + length)
        _, short = by_hand.best_choice(later, register, AS_OF)
        if short[line] == 0:
            return load_on
        load_on += timedelta(days=1)
    return None


def _assert_soonest(need: Need, register: tuple[Candidate, ...], held: tuple[Held, ...] = ()) -> None:
    for index, line in enumerate(draw_up(need, register, AS_OF, held=held).lines):
        assert line.soonest == (_walk(need, register, index) if line.short else None)
        assert bool(line.remedy) is bool(line.short)


@settings(max_examples=cases(100))
@given(needs(most_lines=3), registers(most=5))
def test_pieces(need: Need, register: tuple[Candidate, ...]) -> None:
    _assert_soonest(need, register)


@settings(max_examples=cases(100))
@given(st.data())
def test_pieces_beside_those_held_already(data: st.DataObject) -> None:
    need, register = data.draw(needs(most_lines=3)), data.draw(registers(most=5))
    _assert_soonest(need, register, data.draw(holdings(need, register)))


@settings(max_examples=cases(100))
@given(needs(most_lines=2, kinds=("seal",), counted=True), lot_registers(most=3))
def test_lots(need: Need, register: tuple[Candidate, ...]) -> None:
    _assert_soonest(need, register)


BAGS = Line("bags", "bag", 2)
NEED = Need("J1", "NORTH", date(2026, 11, 10), date(2026, 11, 12), lines=(BAGS,))


def _soonest(*register: Candidate, need: Need = NEED) -> date | None:
    return draw_up(need, register, AS_OF).lines[0].soonest


def test_day_after_a_promise_ends_unless_the_check_runs_out_first() -> None:
    free = Candidate("B1", "bag", "NORTH")
    promised = Candidate(
        "B2", "bag", "NORTH", promises=(Promise("J2", date(2026, 11, 9), date(2026, 11, 20)),)
    )
    assert _soonest(free, promised) == date(2026, 11, 21)
    due = replace(free, gates=(Gate("hold test", "dated", date(2026, 11, 23)),))
    assert _soonest(due, promised) == date(2026, 11, 21)
    due_sooner = replace(free, gates=(Gate("hold test", "dated", date(2026, 11, 22)),))
    assert _soonest(due_sooner, promised) is None


def test_gap_between_promises_must_take_the_whole_job_and_its_turn_round() -> None:
    free = Candidate("B1", "bag", "NORTH")
    busy = Candidate(
        "B2",
        "bag",
        "NORTH",
        promises=(
            Promise("J2", date(2026, 11, 9), date(2026, 11, 14)),
            Promise("J3", date(2026, 11, 18), date(2026, 11, 20)),
        ),
    )
    assert _soonest(free, busy) == date(2026, 11, 15)
    with_turn_round = replace(NEED, lines=(replace(BAGS, turn_round_days=1),))
    assert _soonest(free, busy, need=with_turn_round) == date(2026, 11, 21)


def test_day_after_an_arrival() -> None:
    free = Candidate("B1", "bag", "NORTH")
    coming = Candidate(
        "B2", "bag", "SOUTH", custody="in-transit", transit_to="NORTH", arrives_on=date(2026, 11, 16)
    )
    assert _soonest(free, coming) == date(2026, 11, 17)


def test_promise_without_end_is_not_waited_for() -> None:
    endless = Candidate("B2", "bag", "NORTH", promises=(Promise("J2", date(2026, 11, 9), date.max),))
    assert _soonest(Candidate("B1", "bag", "NORTH"), endless) is None
