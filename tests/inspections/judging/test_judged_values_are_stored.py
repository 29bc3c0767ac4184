"""Readings, limits and verdicts go into JSON and come back the same, so that they can be judged anew."""

import json
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import (
    UNITS,
    Calibration,
    CalibrationLimits,
    GaugeStanding,
    HoldLimits,
    HoldTest,
    HoldVerdict,
    JudgingFault,
    Point,
    PrintedLimits,
    Unit,
    found_error,
    judge_calibration,
    judge_hold_test,
)

decimals = st.decimals("0", "5", places=5)
units = st.sampled_from(UNITS)


def through_json(value: Any) -> Any:
    return type(value).from_json(json.loads(json.dumps(value.to_json())))


@given(decimals, decimals, units, units, st.one_of(st.none(), decimals))
def test_a_hold_test_comes_back_and_is_judged_the_same(
    start: Decimal, end: Decimal, unit: Unit, check_unit: Unit, celsius: Decimal | None
) -> None:
    test = HoldTest(start, end, unit, Decimal(5), celsius, celsius and celsius + 1)
    test = test if celsius else HoldTest(start, end, unit, Decimal(5))
    others = {
        other: PrintedLimits(max_drop=Decimal("0.1")) for other in UNITS if other not in (unit, check_unit)
    }
    limits = HoldLimits(check_unit, None, Decimal("0.3"), Decimal(5), Decimal("0.01"), "guarded", others)
    verdict = judge_hold_test(test, limits)
    assert (through_json(test), through_json(limits), through_json(verdict)) == (test, limits, verdict)
    assert judge_hold_test(through_json(test), through_json(limits)) == verdict


@given(
    st.lists(st.tuples(decimals, st.one_of(st.none(), decimals)), min_size=1, unique_by=lambda row: row[0])
)
def test_a_calibration_comes_back_and_is_judged_the_same(rows: list[tuple[Decimal, Decimal | None]]) -> None:
    points = tuple(Point("up", at, at, left, Decimal("0.001")) for at, left in rows)
    calibration = Calibration("psi", points)
    limits = CalibrationLimits("bar", Decimal(1), Decimal("0.5"), Decimal("0.0001"))
    verdict = judge_calibration(calibration, limits)
    assert (through_json(calibration), through_json(limits), through_json(verdict)) == (
        calibration,
        limits,
        verdict,
    )
    assert judge_calibration(through_json(calibration), through_json(limits)) == verdict
    error = found_error(calibration)
    assert through_json(error) == error


def test_the_json_is_plain_with_decimals_as_text() -> None:
    limits = HoldLimits("bar", max_drop=Decimal("0.010"), other_units={"psi": PrintedLimits(Decimal(3))})
    assert limits.to_json() == {
        "unit": "bar",
        "max_pressure": None,
        "max_drop": "0.010",
        "hold_minutes": None,
        "guard": "0",
        "rule": "guarded",
        "other_units": {"psi": {"max_pressure": "3", "max_drop": None, "guard": None}},
    }


def test_a_gauge_that_stood_out_comes_back_with_its_day() -> None:
    gauge = GaugeStanding("G-01", "out of calibration", date(2026, 9, 1))
    assert through_json(gauge) == gauge
    assert gauge.to_json()["since"] == "2026-09-01"


def test_a_field_left_out_takes_its_default() -> None:
    assert HoldLimits.from_json({"unit": "bar"}) == HoldLimits("bar")


@pytest.mark.parametrize(
    ("kind", "stored", "field"),
    [
        (HoldLimits, {}, "unit"),
        (HoldLimits, {"unit": "MPa"}, "unit"),
        (HoldLimits, {"unit": "bar", "limit": "1"}, "limit"),
        (HoldLimits, {"unit": "bar", "max_drop": "a little"}, "max_drop"),
        (HoldLimits, {"unit": "bar", "max_drop": 0.01}, "max_drop"),
        (HoldLimits, {"unit": "bar", "other_units": ["psi"]}, "other_units"),
        (GaugeStanding, {"tag": "G", "state": "in calibration", "since": "1st of May"}, "since"),
        (HoldVerdict, {"verdict": "pass", "drop": "1/0"}, "drop"),
    ],
)
def test_what_was_not_stored_by_us_is_a_fault_that_names_the_field(
    kind: Any, stored: Any, field: str
) -> None:
    with pytest.raises(JudgingFault, match=repr(field)) as fault:
        kind.from_json(stored)
    assert fault.value.field == field
