"""Faults are told once each, in the order of the workbook, as text and as JSON has them."""

from __future__ import annotations

import pytest

from kit.workbooks import Fault, Faults, faults


def test_order_and_text() -> None:
    collected = Faults(
        [
            Fault("Jobs", 2, "depot", "X", "Unknown depot."),
            Fault("Pivot", None, None, None, "Not read."),
            Fault("Items", 17, "use_by", "31/02/2027", "There is no such day."),
            Fault("Items", 17, "tag", None, "This cell is empty."),
            Fault("Items", 9, "note", "x", "Too long."),
            Fault("Items", 9, "Colour", None, "Unknown column."),
            Fault("Items", None, None, None, "There twice."),
            Fault("Items", 17, None, None, "The whole row."),
        ]
    )
    assert collected.text_report().splitlines() == [
        "Items: There twice.",
        'Items row 9, note "x": Too long.',
        "Items row 9, Colour: Unknown column.",
        "Items row 17: The whole row.",
        "Items row 17, tag: This cell is empty.",
        'Items row 17, use_by "31/02/2027": There is no such day.',
        'Jobs row 2, depot "X": Unknown depot.',
        "Pivot: Not read.",
    ]


def test_json_shape() -> None:
    assert Faults([Fault("Items", 17, "use_by", "31/02/2027", "No such day.")]).as_dicts() == [
        {"sheet": "Items", "row": 17, "column": "use_by", "value": "31/02/2027", "why": "No such day."}
    ]


def test_the_same_fault_is_kept_once() -> None:
    fault = Fault("Items", 2, "tag", "A", "Twice.")
    collected = Faults([fault, Fault("Items", 2, "tag", "A", "Twice.")])
    assert collected.sorted() == [fault]
    assert len(collected) == 1


def test_too_many_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(faults, "MOST_FAULTS", 3)
    collected = Faults(Fault("Items", row, "tag", None, "Empty.") for row in range(1, 6))
    assert len(collected) == 5
    assert collected.left_out == 2
    assert collected.text_report().endswith("\nAnd 2 more, which are not listed.")
