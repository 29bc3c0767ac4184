"""The order of what breaks, against a comparison of two written down rule by rule; what bites when."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.planning.breaks import Break, bites_on, days_left, ranked

TODAY = date(2026, 11, 2)
ON_SITE_FIRST = ["on-site", "broken", "late-back", "short"]


@st.composite
def broken(draw: st.DrawFn) -> Break:
    pieces = draw(st.integers(0, 4))
    day = draw(st.none() | st.integers(-3, 4))
    return Break(
        job=draw(st.sampled_from(["J1", "J2", "J10"])),
        what=draw(st.sampled_from(ON_SITE_FIRST)),
        bites_on=None if day is None else TODAY + timedelta(days=day),
        pieces=pieces,
        replaceable=draw(st.integers(0, pieces)),
        priority=draw(st.integers(1, 3)),
    )


def comes_before(one: Break, other: Break) -> bool:
    """Whether `one` wants mending before `other`, asked as a planner would: one question after the other."""
    if (one.bites_on is None) != (other.bites_on is None):
        return one.bites_on is not None
    if one.bites_on is not None and other.bites_on is not None:
        first, second = max(one.bites_on, TODAY), max(other.bites_on, TODAY)
        if first != second:
            return first < second
    if one.priority != other.priority:
        return one.priority > other.priority
    lacking = one.pieces - one.replaceable, other.pieces - other.replaceable
    if lacking[0] != lacking[1]:
        return lacking[0] > lacking[1]
    if one.pieces != other.pieces:
        return one.pieces > other.pieces
    if one.what != other.what:
        return ON_SITE_FIRST.index(one.what) < ON_SITE_FIRST.index(other.what)
    return one.job < other.job


@given(st.lists(broken(), max_size=12))
def test_no_break_stands_after_one_that_it_comes_before(breaks: list[Break]) -> None:
    order = ranked(breaks, TODAY)
    assert sorted(map(repr, order)) == sorted(map(repr, breaks))
    for one, other in pairwise(order):
        assert not comes_before(other, one)


@given(st.lists(broken(), max_size=8).flatmap(lambda made: st.tuples(st.just(made), st.permutations(made))))
def test_the_order_does_not_hang_on_the_order_of_asking(both: tuple[list[Break], list[Break]]) -> None:
    def told(breaks: list[Break]) -> list[tuple[object, ...]]:
        # What has bitten before today is level with what bites today.
        return [
            (each.job, each.what, days_left(each, TODAY), each.pieces, each.replaceable, each.priority)
            for each in ranked(breaks, TODAY)
        ]

    assert told(both[0]) == told(both[1])


@pytest.mark.parametrize(
    ("what", "load", "waiting", "days"),
    [
        ("broken", 3, (), 3),
        ("short", 0, (), 0),
        ("broken", -2, (), 0),
        ("on-site", -4, (9,), 0),
        ("late-back", -4, (9, 5), 5),
        ("late-back", -4, (-1,), 0),
        ("late-back", -4, (), None),
    ],
)
def test_when_it_bites(what, load, waiting, days) -> None:
    waits = [TODAY + timedelta(days=day) for day in waiting]
    found = bites_on(what, TODAY + timedelta(days=load), TODAY, waits)
    assert found == (None if days is None else TODAY + timedelta(days=days))
    assert days_left(Break("J1", what, found, 1), TODAY) == days


def test_more_replaceable_than_concerned_is_refused() -> None:
    with pytest.raises(ValueError, match="3 of 2 pieces"):
        Break("J1", "broken", TODAY, pieces=2, replaceable=3)
