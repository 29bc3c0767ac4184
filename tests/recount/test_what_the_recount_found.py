"""Answers that were once other than the design page asks, found by the recount, each in its smallest register."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from tests.recount.comparing import answer
from tests.recount.made_up import save

pytestmark = pytest.mark.django_db


def load(path: Path, **sheets: list[dict[str, Any]]) -> None:
    save(path, sheets)
    report, code = answer("load_register", str(path))
    assert (report["loaded"], code) == (True, 0), report


def job(reference: str, load_on: date, return_on: date, arrangement: str = "one") -> dict[str, Any]:
    return {
        "reference": reference,
        "depot": "Yard",
        "load_on": load_on.isoformat(),
        "return_on": return_on.isoformat(),
        "arrangement": arrangement,
    }


@pytest.mark.parametrize("days_between", [0, 20], ids=["same window", "weeks later"])
def test_a_lot_promised_whole_is_refused_and_not_left_out(tmp_path: Path, days_between: int) -> None:
    load_on = timezone.localdate() + timedelta(days=3)
    later = load_on + timedelta(days=days_between)
    load(
        tmp_path / "register.xlsx",
        Checks=[{"kind": "seal", "check": None, "interval": None}],
        Items=[
            {"tag": "S-1", "kind": "seal", "depot": "Yard", "quantity": 2},
            {"tag": "S-2", "kind": "seal", "depot": "Yard", "quantity": 0},
        ],
        Arrangements=[{"arrangement": "one", "line": "seals", "kind": "seal", "quantity": 2}],
        Jobs=[job("J-1", load_on, load_on), job("J-2", later, later)],
    )
    assert answer("kit_list", "J-1", "--reserve")[1] == 0

    kit, code = answer("kit_list", "J-2")

    assert code == 1
    assert kit["lines"][0]["lots"] == []
    assert kit["lines"][0]["soonest"] is None
    [refused] = kit["refused"]  # S-2 is empty: nothing to choose from or to refuse
    assert refused["tag"] == "S-1"
    [reason] = refused["reasons"]
    assert (reason["code"], reason["date"]) == ("promised-elsewhere", load_on.isoformat())


def test_a_job_that_is_back_is_not_the_next_job_while_its_kit_is_turned_round(tmp_path: Path) -> None:
    return_on = timezone.localdate() + timedelta(days=5)
    load(
        tmp_path / "register.xlsx",
        Kinds=[{"kind": "pump", "turn_round_days": 3}],
        Checks=[{"kind": "pump", "check": None, "interval": None}],
        Items=[
            {"tag": "P-1", "kind": "pump", "depot": "Yard", "use_by": (return_on + timedelta(9)).isoformat()}
        ],
        Arrangements=[{"arrangement": "one", "line": "pumps", "kind": "pump", "quantity": 1}],
        Jobs=[job("J-1", return_on, return_on)],
    )
    assert answer("kit_list", "J-1", "--reserve")[1] == 0

    jobs = {
        after: answer(
            "inspections_due", "--within", "30", "--as-of", (return_on + timedelta(after)).isoformat()
        )[0]["due"][0]["job"]
        for after in (0, 1, 3)
    }

    assert jobs == {0: "J-1", 1: None, 3: None}
