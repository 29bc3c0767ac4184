"""How much is left of each date: counted by hand on days written out."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.planning import Gate
from kit.planning.life_left import lives_of

TODAY = date(2026, 11, 2)


def gate(
    check: str, last_done: date | None, due_on: date | None, status: str = "dated", **more: object
) -> Gate:
    return Gate(check, status, due_on, last_done, **more)  # type: ignore[arg-type]


def test_both_ends_of_a_run_belong_to_it():
    """Ten days, 24 October to 2 November: on the last of them one day in ten is left, the day after none."""
    first, last = date(2026, 10, 24), date(2026, 11, 2)
    [life] = lives_of(first, last, [], TODAY)
    assert (life.left_days, life.left, life.over) == (0, pytest.approx(0.1), False)
    [life] = lives_of(first, last, [], TODAY + timedelta(days=1))
    assert (life.left_days, life.left, life.over) == (-1, 0.0, True)
    [life] = lives_of(first, last, [], first)
    assert (life.left_days, life.left) == (9, 1.0)


def test_what_bars_it_comes_first_then_what_ends_first():
    lives = lives_of(
        date(2020, 1, 1),
        date(2030, 1, 1),
        [
            gate("inspection", date(2026, 9, 1), date(2027, 3, 1)),
            gate("hold test", date(2026, 10, 1), date(2026, 12, 1)),
            gate("zero check", None, None, "never"),
        ],
        TODAY,
    )
    assert [life.name for life in lives] == ["zero check", "hold test", "inspection", ""]
    assert [life.ends for life in lives] == ["never", "dated", "dated", "dated"]


@pytest.mark.parametrize(
    ("given_gate", "ends"),
    [
        (gate("a", None, None, "never"), "never"),
        (gate("a", date(2026, 10, 1), date(2026, 10, 1), "failed"), "failed"),
        (gate("a", date(2026, 10, 1), date(2026, 10, 20), note="used on J/1"), "waits"),
    ],
)
def test_a_check_that_bars_the_piece_has_no_days_left(given_gate, ends):
    [life] = lives_of(None, None, [given_gate], TODAY)
    assert (life.ends, life.left_days, life.left) == (ends, None, None)


def test_without_a_beginning_the_days_are_known_and_the_share_is_not():
    [life] = lives_of(None, date(2026, 11, 12), [], TODAY)
    assert (life.left_days, life.left) == (10, None)


def test_what_no_date_limits_has_none():
    assert lives_of(date(2020, 1, 1), None, [], TODAY) == []


days = st.dates(date(2000, 1, 1), date(2060, 1, 1))


@given(days, days, days)
def test_the_share_is_what_a_count_of_days_gives(began, last, today):
    [life] = lives_of(began, last, [], today)
    assert life.over == (today > last)
    if began > last:
        assert life.left is None
        return
    run = (last - began).days + 1
    ahead = sum(1 for number in range(0, run, max(1, run // 50)) if began + timedelta(days=number) >= today)
    counted = ahead / len(range(0, run, max(1, run // 50)))
    assert life.left == pytest.approx(counted, abs=0.03)
