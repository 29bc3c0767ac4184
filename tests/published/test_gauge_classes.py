"""Accuracy classes of gauges: what EN 837-1 permits (from memory, as in values.json)."""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from inspections.judging import (
    EN_837_CLASSES,
    Calibration,
    CalibrationLimits,
    Point,
    judge_calibration,
    permissible_error,
    temperature_influence_percent,
)

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}


def test_classes_are_those_of_the_standard() -> None:
    """Source: values.json, en837-classes (EN 837-1:1996, from memory)."""
    assert [str(accuracy_class) for accuracy_class in EN_837_CLASSES] == VALUES["en837-classes"]["inputs"]


def test_a_class_is_the_permissible_error_in_percent_of_span() -> None:
    """Source: values.json, en837-classes, and the value worked in its note: 0.4 bar at class 1.6, 0.0064 bar."""
    value = VALUES["en837-classes"]
    of_a_hundred = [float(permissible_error(Decimal(text), Decimal(100))) for text in value["inputs"]]
    assert of_a_hundred == value["expected"]
    assert value["note"] == "class 0.4 bar span at class 1.6: 0.0064 bar"
    assert permissible_error(Decimal("1.6"), Decimal("0.4")) == Fraction("0.0064")


@pytest.mark.parametrize(("error", "verdict"), [("0.0064", "pass"), ("-0.0064", "pass"), ("0.00641", "fail")])
def test_a_gauge_at_the_edge_of_its_class(error: str, verdict: str) -> None:
    """Source: as above. The edge itself is permitted."""
    point = Point("up", Decimal("0.2"), Decimal("0.2") + Decimal(error))
    limits = CalibrationLimits("bar", Decimal("1.6"), Decimal("0.4"))
    assert judge_calibration(Calibration("bar", (point,)), limits).verdict == verdict


@pytest.mark.parametrize(("celsius", "percent"), [("20", 0), ("35", 0.6), ("5", 0.6), ("-10", 1.2)])
def test_away_from_20_degrees_a_gauge_may_err_more(celsius: str, percent: float) -> None:
    """Source: values.json, en837-temperature (0.04 % of span a kelvin, from memory); the rest by hand."""
    value = VALUES["en837-temperature"]
    if float(celsius) == value["inputs"]["t_c"]:
        assert percent == value["expected"]
    assert float(temperature_influence_percent(Decimal(celsius))) == pytest.approx(
        percent, abs=value["tolerance"]
    )
