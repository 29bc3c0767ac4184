"""A hold test whose check sets no guard takes it from the uncertainty of the gauge, as its last calibration states it.

The drop is the difference of two readings: sqrt(2) x U (GUM, JCGM 100:2008, 5.1.2), the guard band of ISO 14253-1.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import sqrt

import pytest

from inspections.actions import set_checks
from inspections.judging import Calibration, Point
from inspections.limits import hold_limits, stated_in
from inspections.models import Inspection
from inspections.verdicts import verdicts_anew
from kit.stores import prove_ledger
from tests.inspections.bench import HOLD, bench, calibrate, check, do, held, hold, kind

NO_GUARD = replace(HOLD, guard=None, emptied=frozenset({"guard"}), other_limits={})


@pytest.fixture(autouse=True)
def _bench(db) -> None:
    bench()


def certified(uncertainty: str | None, unit: str = "bar", scale: int = 1) -> Calibration:
    of = Decimal(uncertainty) if uncertainty else None
    rows = (("up", "0", "0"), ("up", "0.3", "0.3"), ("down", "0.3", "0.3"))
    return Calibration(
        unit,  # type: ignore[arg-type]
        tuple(
            Point(direction, Decimal(at) * scale, Decimal(read) * scale, None, of)  # type: ignore[arg-type]
            for direction, at, read in rows
        ),
    )


def test_a_drop_within_the_uncertainty_of_the_limit_is_a_doubt() -> None:
    do(set_checks, kind("bag"), [NO_GUARD])
    calibrate("G-1", certified("0.001"), ago=1)
    # sqrt(2) x 0.001 bar round a limit of 0.01 bar.
    verdicts = [hold("B-1", held(end=end)).verdict for end in ("0.1915", "0.1914", "0.1886", "0.1885")]
    assert 0.2 - 0.1915 < 0.01 - sqrt(2) * 0.001 < 0.2 - 0.1914
    assert 0.2 - 0.1886 < 0.01 + sqrt(2) * 0.001 < 0.2 - 0.1885
    assert verdicts == ["pass", "doubt", "doubt", "fail"]


def test_what_the_next_certificate_states_changes_no_old_verdict() -> None:
    do(set_checks, kind("bag"), [NO_GUARD])
    calibrate("G-1", certified("1", "mbar", 1000), ago=1)
    made = hold("B-1", held(end="0.1913"))
    assert stated_in(Inspection.objects.get(pk=made.pk).readings) == (Decimal(1), "mbar")
    calibrate("G-1", certified("0.0001"))
    assert [one.differences for one in verdicts_anew(made.item)] == [[]]
    assert verdicts_anew(made.item)[0].anew.verdict == made.verdict == "doubt"  # type: ignore[union-attr]
    assert hold("B-2", held(end="0.1913")).verdict == "pass"
    assert prove_ledger().fault is None


def test_a_guard_of_the_checks_own_holds_whatever_the_certificate_states() -> None:
    calibrate("G-1", certified("0.005"), ago=1)
    made = hold("B-1", held(end="0.1925"))
    assert made.verdict == "pass"  # 0.0075 against 0.01 with the 0.002 that the check sets
    assert "gauge_uncertainty" not in made.readings


def test_a_certificate_without_uncertainty_gives_no_guard() -> None:
    do(set_checks, kind("bag"), [NO_GUARD])
    calibrate("G-1", certified(None), ago=1)
    assert hold("B-1", held(end="0.1901")).verdict == "pass"


def test_the_limit_alone_decides_where_the_check_accepts_simply() -> None:
    do(set_checks, kind("bag"), [replace(NO_GUARD, decision="simple")])
    calibrate("G-1", certified("0.004"), ago=1)
    assert hold("B-1", held(end="0.1901")).verdict == "pass"
    assert hold_limits(check("bag", "hold test")).guard == 0


def test_an_uncertainty_wider_than_the_limit_leaves_no_drop_that_passes() -> None:
    do(set_checks, kind("bag"), [NO_GUARD])
    calibrate("G-1", certified("0.0091"), ago=1)
    assert hold("B-1", held(end="0.2")).verdict == "doubt"
