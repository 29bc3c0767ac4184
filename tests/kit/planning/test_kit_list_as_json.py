"""The kit list as JSON, to the letter of what other programs read."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from decimal import Decimal

from kit.planning import Candidate, Gate, Line, Need, Promise, draw_up, to_json

NEED = Need(
    "J-7",
    "NORTH",
    date(2026, 11, 10),
    date(2026, 11, 12),
    Decimal("165.2"),
    "II",
    (
        Line("heads", "bagging head", 1, "mark"),
        Line("bags", "bag", 2, "bore"),
        Line("seals", "seal", 3, counted=True),
    ),
)
BAG = Candidate("BAG-2", "bag", "NORTH", bore_min_mm=Decimal(150), bore_max_mm=Decimal(180))
REGISTER = (
    replace(BAG, tag="BAG-9", gates=(Gate("hold test", "dated", date(2026, 11, 11)),)),
    BAG,
    replace(BAG, tag="BAG-1", promises=(Promise("J-3", date(2026, 11, 8), date(2026, 11, 14)),)),
    Candidate("HED-2", "bagging head", "NORTH", mark="II"),
    Candidate("HED-1", "bagging head", "NORTH", mark="ii"),
    Candidate("S-1", "seal", "NORTH", quantity=2),
    Candidate("S-2", "seal", "NORTH", quantity=2),
    Candidate("S-3", "seal", "NORTH", quantity=0),
    Candidate("PUM-1", "pump", "NORTH"),
)


def test_to_the_letter() -> None:
    found = to_json(draw_up(NEED, REGISTER, date(2026, 11, 2)))
    assert json.loads(json.dumps(found)) == found
    assert found == {
        "job": "J-7",
        "as_of": "2026-11-02",
        "load_on": "2026-11-10",
        "return_on": "2026-11-12",
        "bore_mm": 165.2,
        "complete": False,
        "lines": [
            {
                "line": "heads",
                "kind": "bagging head",
                "needed": 1,
                "tags": ["HED-1"],
                "short": 0,
                "soonest": None,
                "remedy": "",
            },
            {
                "line": "bags",
                "kind": "bag",
                "needed": 2,
                "tags": ["BAG-2"],
                "short": 1,
                "soonest": "2026-11-15",
                "remedy": "Inspect BAG-9; or free BAG-1 from another job; or load on 2026-11-15 or later.",
            },
            {
                "line": "seals",
                "kind": "seal",
                "needed": 3,
                "lots": [{"lot": "S-1", "quantity": 2}, {"lot": "S-2", "quantity": 1}],
                "short": 0,
                "soonest": None,
                "remedy": "",
            },
        ],
        "refused": [
            {
                "tag": "BAG-1",
                "line": "bags",
                "reasons": [
                    {
                        "code": "promised-elsewhere",
                        "date": "2026-11-14",
                        "text": "It is promised to J-3 from 2026-11-08 to 2026-11-14; "
                        "another piece for that job or later loading would free it.",
                    }
                ],
            },
            {
                "tag": "BAG-9",
                "line": "bags",
                "reasons": [
                    {
                        "code": "check-due-before-return",
                        "date": "2026-11-11",
                        "text": "Its hold test falls due on 2026-11-11, before the return on 2026-11-12; "
                        "do it before loading.",
                    }
                ],
            },
        ],
        "also_fit": [{"tag": "HED-2", "line": "heads"}],
    }


def test_no_bore_is_null_and_a_job_without_lines_is_complete() -> None:
    found = to_json(draw_up(replace(NEED, bore_mm=None, lines=()), REGISTER, date(2026, 11, 2)))
    assert found["bore_mm"] is None
    assert found["complete"] is True
    assert found["lines"] == found["refused"] == found["also_fit"] == []
