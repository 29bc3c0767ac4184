"""The choice is the best there is, ties and all: compared with a search that tries every choice."""

from __future__ import annotations

import random
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.planning import Candidate, KitList, Need, draw_up
from kit.planning.matching import Offer, fill_amounts, match_lines
from tests.counts import cases
from tests.kit.planning import by_hand
from tests.kit.planning.registers import AS_OF, KINDS, holdings, lot_registers, needs, registers


def _as_choice(kit_list: KitList) -> by_hand.Choice:
    return tuple(
        tuple(tag for tag, quantity in line.lots for _ in range(quantity)) if line.line.counted else line.tags
        for line in kit_list.lines
    )


def _assert_accounts_for_all(kit_list: KitList, register: tuple[Candidate, ...], held_on: set) -> None:
    """Every piece here of a line's kind is chosen, also fit, or refused with all that is against it."""
    need = kit_list.need
    chosen = {tag for tags in _as_choice(kit_list) for tag in tags}
    refused, also_fit = [], []
    for line in need.lines:
        for piece in sorted(by_hand.here(register, need), key=lambda piece: piece.tag):
            if piece.kind != line.kind or (line.name, piece.tag) in held_on:
                continue
            against = by_hand.codes(piece, line, need, kit_list.as_of)
            if line.counted and piece.quantity == 0 and not {"promised-elsewhere", "on-site"} & set(against):
                continue
            if against:
                refused.append((piece.tag, line.name, against))
            elif piece.tag not in chosen:
                also_fit.append((piece.tag, line.name))
    assert [
        (each.tag, each.line, sorted(reason.code for reason in each.reasons)) for each in kit_list.refused
    ] == refused
    assert [(each.tag, each.line) for each in kit_list.also_fit] == also_fit


def _assert_best(need: Need, register: tuple[Candidate, ...], held: tuple = ()) -> None:
    kit_list = draw_up(need, register, AS_OF, held=held)
    choice, short = by_hand.best_choice(need, register, AS_OF, held)
    assert _as_choice(kit_list) == choice
    assert tuple(line.short for line in kit_list.lines) == short
    assert kit_list.complete is (sum(short) == 0)
    _assert_accounts_for_all(kit_list, register, {(each.line, each.tag) for each in held})


@st.composite
def _lots(draw: st.DrawFn, lines: int, most: int) -> tuple[by_hand.Lot, ...]:
    """Lots that fit any lines, with few costs: far more knotted than a real register, and full of ties."""
    tags = draw(st.permutations([f"T{number}" for number in range(draw(st.sampled_from((2, 4, 5, 6))))]))
    costs = st.sampled_from(((1, Decimal(0)), (1, Decimal("0.5")), (2, Decimal(0))))
    return tuple(
        by_hand.Lot(tag, draw(st.integers(1, most)), tuple(sorted(places)), *draw(costs))
        for tag in tags
        for places in [draw(st.sets(st.integers(0, lines - 1), min_size=1))]
    )


def _assert_best_spread(wanted: list[int], lots: tuple[by_hand.Lot, ...]) -> None:
    offers = [Offer(lot.tag, frozenset(lot.places), (lot.days, lot.width), lot.quantity) for lot in lots]
    choice, short = by_hand.best_spread(wanted, lots)
    placed = match_lines(wanted, offers)
    assert tuple(tuple(tag for tag, count in line.items() for _ in range(count)) for line in placed) == choice
    assert fill_amounts(wanted, offers) == [
        limit - missing for limit, missing in zip(wanted, short, strict=True)
    ]


@settings(max_examples=cases(300))
@given(st.data())
def test_any_pieces_on_any_lines(data: st.DataObject) -> None:
    wanted = data.draw(st.lists(st.integers(1, 2), min_size=2, max_size=4))
    _assert_best_spread(wanted, data.draw(_lots(len(wanted), most=1)))


@settings(max_examples=cases(300))
@given(st.data())
def test_any_lots_on_any_lines(data: st.DataObject) -> None:
    wanted = data.draw(st.lists(st.integers(1, 3), min_size=2, max_size=2))
    _assert_best_spread(wanted, data.draw(_lots(len(wanted), most=3)))


@settings(max_examples=cases(300))
@given(needs(), registers())
def test_pieces(need: Need, register: tuple[Candidate, ...]) -> None:
    _assert_best(need, register)


@settings(max_examples=cases(300))
@given(st.data())
def test_pieces_beside_those_held_already(data: st.DataObject) -> None:
    need, register = data.draw(needs()), data.draw(registers())
    _assert_best(need, register, data.draw(holdings(need, register)))


@settings(max_examples=cases(300))
@given(st.data())
def test_lots_of_a_counted_kind(data: st.DataObject) -> None:
    need = data.draw(needs(most_lines=2, kinds=("seal",), counted=True))
    register = data.draw(lot_registers())
    _assert_best(need, register, data.draw(holdings(need, register)))


@settings(max_examples=cases(300))
@given(needs(), registers(most=9), st.randoms(use_true_random=False))
def test_order_of_the_register_changes_nothing(
    need: Need, register: tuple[Candidate, ...], chance: random.Random
) -> None:
    shuffled = list(register)
    chance.shuffle(shuffled)
    assert draw_up(need, shuffled, AS_OF) == draw_up(need, register, AS_OF)
    assert set(KINDS) >= {line.kind for line in need.lines}
