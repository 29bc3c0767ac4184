"""The shipped arrangements against what the trade takes along.

Source: common practice, no source. The number of bags stands in values.json ("two-way-bags"), the rest in
the kit table that people who do the work gave; both are settings that a depot can change.
"""

import json
from collections import Counter
from pathlib import Path

import pytest

from kit.planning import SHIPPED_ARRANGEMENTS

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}
WORKING_BAGS, SPARE_BAGS = VALUES["two-way-bags"]["expected"]
SHIPPED = {arrangement.name: arrangement for arrangement in SHIPPED_ARRANGEMENTS}

KINDS = {
    *("bag", "bag tube", "control head", "bagging head", "nose", "base", "vent head", "vent stack"),
    *("bypass set", "gauge", "gas detector", "pump", "chain set", "hand tool"),
}
COUNTED_KINDS = {"seal", "cap", "leak-detection fluid", "lubricant"}


def _pieces(name: str) -> Counter[str]:
    pieces: Counter[str] = Counter()
    for line in SHIPPED[name].lines:
        pieces[line.kind] += line.quantity
    return pieces


@pytest.mark.parametrize(
    ("name", "bags", "tubes", "heads", "bases"),
    [
        ("two-way, two bags a hole", WORKING_BAGS + SPARE_BAGS, 4, 2, 2 + 1),
        ("two-way, one bag a hole", WORKING_BAGS + SPARE_BAGS, 4, 4, 4),
        ("single-sided", WORKING_BAGS // 2 + SPARE_BAGS, 2, 1, 1 + 1),
    ],
)
def test_pieces_of_each_pattern(name: str, bags: int, tubes: int, heads: int, bases: int) -> None:
    """Source: common practice, no source. A base a head, and one for the vent between where bags share a hole."""
    pieces = _pieces(name)
    assert pieces["bag"] == bags
    assert pieces["bag tube"] == pieces["control head"] == tubes
    assert pieces["bagging head"] == pieces["nose"] == heads
    assert pieces["base"] == bases
    assert pieces["bypass set"] == (0 if name == "single-sided" else 1)
    assert pieces["gas detector"] == pieces["pump"] == pieces["hand tool"] == 1
    assert pieces["gauge"] >= 1
    assert pieces["chain set"] == heads
    assert min(pieces["vent head"], pieces["vent stack"]) >= 1


@pytest.mark.parametrize("name", SHIPPED)
def test_what_must_match_does(name: str) -> None:
    """Source: common practice, no source: bag and nose suit the bore, head and base share a mark."""
    asked = {"bag": "bore", "nose": "bore", "bagging head": "mark", "base": "mark"}
    assert {(line.kind, line.match) for line in SHIPPED[name].lines} == {
        (kind, asked.get(kind, "any")) for kind in _pieces(name)
    }


@pytest.mark.parametrize("name", SHIPPED)
def test_only_shipped_kinds_each_line_named_once_in_version_one(name: str) -> None:
    """Source: the list of kinds that are shipped; consumables are counted."""
    arrangement = SHIPPED[name]
    names = [line.name for line in arrangement.lines]
    assert len(names) == len(set(names))
    assert set(_pieces(name)) <= KINDS | COUNTED_KINDS
    assert set(_pieces(name)) >= COUNTED_KINDS
    assert arrangement.version == 1
    assert arrangement.note


def test_every_pattern_of_the_trade_is_shipped() -> None:
    assert set(SHIPPED) == {"two-way, two bags a hole", "two-way, one bag a hole", "single-sided"}
