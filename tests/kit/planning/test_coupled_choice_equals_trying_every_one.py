"""Kit lists with assemblies, sets, substitutes, lots and held pieces: the same as where every placing is tried."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.planning import Candidate, Held, KitList, Need, draw_up
from tests.counts import cases
from tests.kit.planning.coupled_by_hand import ByHand
from tests.kit.planning.coupled_registers import coupled_holdings, coupled_needs, coupled_registers
from tests.kit.planning.registers import AS_OF, day

LAST_DAY = day(20)
"""Later than every date in the made-up registers, so nothing changes from there on."""


def _as_choice(kit_list: KitList) -> tuple[tuple[str, ...], ...]:
    return tuple(
        tuple(tag for tag, quantity in line.lots for _ in range(quantity)) if line.line.counted else line.tags
        for line in kit_list.lines
    )


def _assert_best(need: Need, register: tuple[Candidate, ...], held: tuple[Held, ...]) -> None:
    kit_list = draw_up(need, register, AS_OF, held=held)
    asked = ByHand(need, register, AS_OF, held)
    choice, short = asked.best()
    assert tuple(line.short for line in kit_list.lines) == short
    assert _as_choice(kit_list) == choice
    assert kit_list.proven
    _assert_accounts_for_all(kit_list, asked)


def _assert_accounts_for_all(kit_list: KitList, asked: ByHand) -> None:
    """Every piece here of a kind that a line takes is chosen, also fit, or refused with all that is against it."""
    chosen = {tag for tags in _as_choice(kit_list) for tag in tags}
    on = {(each.line, each.tag) for each in asked.held}
    refused, also_fit = [], []
    for place, line in enumerate(asked.need.lines):
        for piece in asked.here:
            against = asked.against(piece).get(place)
            if against is None or (line.name, piece.tag) in on:
                continue
            if line.counted and piece.quantity == 0 and not {"promised-elsewhere", "on-site"} & set(against):
                continue
            codes = sorted([*against, "set-not-whole"] if asked.kept_back(piece) else against)
            if codes:
                refused.append((piece.tag, line.name, codes))
            elif piece.tag not in chosen:
                also_fit.append((piece.tag, line.name))
    assert [
        (each.tag, each.line, sorted(reason.code for reason in each.reasons)) for each in kit_list.refused
    ] == refused
    assert [(each.tag, each.line) for each in kit_list.also_fit] == also_fit


@settings(max_examples=cases(200))
@given(st.data())
def test_small_registers(data: st.DataObject) -> None:
    need, register = data.draw(coupled_needs()), data.draw(coupled_registers())
    held = data.draw(coupled_holdings(need, register)) if data.draw(st.booleans()) else ()
    _assert_best(need, register, held)


def _walk(need: Need, register: tuple[Candidate, ...], line: int) -> date | None:
    length = need.return_on - need.load_on
    load_on = need.load_on + timedelta(days=1)
    while load_on <= LAST_DAY:
        later = replace(need, load_on=load_on, return_on=load_on + length)
        if ByHand(later, register, AS_OF).best()[1][line] == 0:
            return load_on
        load_on += timedelta(days=1)
    return None


@settings(max_examples=cases(80))
@given(st.data())
def test_soonest_day_is_found_by_walking_the_days(data: st.DataObject) -> None:
    need, register = data.draw(coupled_needs()), data.draw(coupled_registers(most=5))
    held = data.draw(coupled_holdings(need, register)) if data.draw(st.booleans()) else ()
    for index, line in enumerate(draw_up(need, register, AS_OF, held=held).lines):
        assert line.soonest == (_walk(need, register, index) if line.short else None)
        assert bool(line.remedy) is bool(line.short)


@settings(max_examples=cases(100))
@given(coupled_needs(), coupled_registers(most=9), st.randoms(use_true_random=False))
def test_order_of_the_register_changes_nothing(
    need: Need, register: tuple[Candidate, ...], chance: random.Random
) -> None:
    shuffled = list(register)
    chance.shuffle(shuffled)
    assert draw_up(need, shuffled, AS_OF) == draw_up(need, register, AS_OF)
