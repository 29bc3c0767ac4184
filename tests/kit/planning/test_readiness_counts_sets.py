"""Stops where sets go whole into one stop: never more than there are, never fewer than the figure told as the most."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

from hypothesis import event, given, settings
from hypothesis import strategies as st

from kit.planning.mains import Main
from kit.planning.readiness import Day, ready
from kit.planning.readiness_stock import sets_of, stock_of
from kit.planning.values import NO_LIMIT, Candidate, Gate, Line, Promise
from tests.counts import cases
from tests.kit.planning.registers import AS_OF, AWAY, HERE, day, mostly, pieces
from tests.kit.planning.sets_by_hand import stops_with_sets
from tests.kit.planning.test_readiness_equals_a_recount import arrangements

BORE = Decimal("165.2")
KINDS = ("bag", "head")
BAGS_AND_HEAD = (Line("bags", "bag", 2), Line("head", "head", 1))


def count(lines: tuple[Line, ...], store: tuple[Candidate, ...], days: int = 1) -> list[Day]:
    stock = stock_of(store, lines, Main(BORE), AS_OF, day(0))
    return ready(lines, stock, day(0), days, sets_of(store, lines, Main(BORE), AS_OF, day(0)))


def sound(tag: str, kind: str, set_name: str = "", **other: object) -> Candidate:
    return Candidate(tag, kind, HERE, set_name=set_name, **other)  # type: ignore[arg-type]


def test_a_set_that_fits_a_stop_is_counted() -> None:
    """A stop takes two bags and a head: one comes from the set and a loose bag, the other from loose pieces."""
    store = (
        sound("S1", "bag", "red"),
        sound("S2", "head", "red"),
        *(sound(f"B{n}", "bag") for n in range(3)),
        sound("H1", "head"),
    )
    [told] = count(BAGS_AND_HEAD, store)
    assert (told.stops, told.at_most) == (2, 2)


def test_not_one_that_is_not_whole_or_wants_more_than_a_stop() -> None:
    whole = (sound("S1", "bag", "red"), sound("S2", "bag", "red"), sound("H1", "head"))
    assert count(BAGS_AND_HEAD, whole)[0].stops == 1
    failed = sound("S3", "bag", "red", state="quarantined")
    assert count(BAGS_AND_HEAD, (*whole, failed))[0].at_most == 0
    no_use = sound("S3", "pump", "red")
    assert count(BAGS_AND_HEAD, (*whole, no_use))[0].at_most == 0
    three = tuple(sound(f"T{n}", "bag", "blue") for n in range(3))
    [told] = count(BAGS_AND_HEAD, (*three, sound("H1", "head")))
    assert told.stops == 0


def test_a_set_is_away_while_one_of_it_is_promised() -> None:
    promise = Promise("J9", day(1), day(2))
    store = (sound("S1", "bag", "red", promises=(promise,)), sound("S2", "bag", "red"), sound("H1", "head"))
    assert [each.stops for each in count(BAGS_AND_HEAD, store, 4)] == [1, 0, 0, 1]


def test_a_set_of_one_mark_goes_into_a_stop_of_that_mark() -> None:
    lines = (Line("heads", "head", 1, "mark"), Line("bases", "base", 1, "mark"))
    store = (sound("S1", "head", "red", mark="II"), sound("S2", "base", "red", mark="ii"))
    assert count(lines, store)[0].stops == 1
    mixed = (sound("S1", "head", "red", mark="II"), sound("S2", "base", "red", mark="III"))
    assert count(lines, mixed)[0].stops == 0


@st.composite
def stores_of_sets(draw: st.DrawFn) -> tuple[Candidate, ...]:
    found = []
    for number in range(draw(st.integers(2, 7))):
        piece = draw(pieces(f"T{number}", KINDS))
        if draw(mostly(True, False)):
            piece = replace(piece, state="available", custody="store", gates=(), use_by=None, promises=())
        found.append(replace(piece, set_name=draw(mostly("", "red", "blue"))))
    return tuple(found)


@given(arrangements(), stores_of_sets())
@settings(max_examples=cases(200), deadline=None)
def test_between_the_two_figures(lines: tuple[Line, ...], store: tuple[Candidate, ...]) -> None:
    for told in count(lines, store, 3):
        by_hand = 0
        for depot in (HERE, AWAY):
            # A set is told by its depot and name; what is on its way to another depot serves there.
            here = [replace(p, set_name=p.set_name and f"{p.depot} {p.set_name}") for p in store]
            by_hand += stops_with_sets(lines, here, BORE, told.day, AS_OF, depot)
        assert told.stops <= by_hand <= told.at_most
        event(f"exact: {told.stops == told.at_most}, with sets: {any(p.set_name for p in store)}")


def test_far_off_days_and_long_sets_of_promises_take_no_longer() -> None:
    """A hundred sets with promises each, over a year."""
    gate = (Gate("hold test", "dated", NO_LIMIT),)
    store = tuple(
        sound(
            f"S{number}-{side}",
            "bag",
            f"set {number}",
            gates=gate,
            promises=tuple(Promise(f"J{n}", day(7 * n), day(7 * n + 3)) for n in range(20)),
        )
        for number in range(100)
        for side in ("near", "far")
    )
    told = count((Line("bags", "bag", 2),), store, 365)
    assert [each.stops for each in told[:8]] == [0, 0, 0, 0, 100, 100, 100, 0]
    assert told[-1].day - told[0].day == timedelta(days=364)
