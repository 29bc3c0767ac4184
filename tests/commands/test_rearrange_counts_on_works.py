"""`rearrange` on a loaded register where a bench and a way between depots help: what is proposed, what is promised."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from kit.models import Reservation, Standing
from kit.stores import prove_ledger
from tests.commands.running import Said, run

pytestmark = pytest.mark.django_db

STOP = {"arrangement": "stop", "line": "bag", "kind": "bag", "quantity": 1, "match": "bore"}
GAUGES = {"arrangement": "readings", "line": "gauges", "kind": "gauge", "quantity": 2, "match": "any"}
CALIBRATED = {"kind": "gauge", "check": "calibration", "interval": "P12M", "basis": "done", "gates": "yes"}


def _day(offset: int) -> date:
    return date.today() + timedelta(days=offset)


def _load(folder: Path, **sheets: list[dict[str, Any]]) -> None:
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        headings = list(dict.fromkeys(key for row in rows for key in row))
        sheet.append(headings)
        for row in rows:
            sheet.append([row.get(heading) for heading in headings])
    path = folder / "register.xlsx"
    book.save(path)
    said = run("load_register", str(path))
    assert said.code == 0, said.err


def _job(reference: str, first: int, last: int, arrangement: str, bore: int = 160) -> dict[str, Any]:
    return {
        "reference": reference,
        "depot": "NY",
        "load_on": _day(first),
        "return_on": _day(last),
        "bore_mm": bore,
        "arrangement": arrangement,
    }


def _bag(tag: str, depot: str, low: int, high: int) -> dict[str, Any]:
    return {"tag": tag, "kind": "bag", "depot": depot, "bore_min_mm": low, "bore_max_mm": high}


def _promised() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    rows = Reservation.objects.filter(standing=Standing.PROMISED).order_by("job__reference", "item__tag")
    for job, tag in rows.values_list("job__reference", "item__tag"):
        found.setdefault(job, []).append(tag)
    return found


def _told(said: Said) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(said.out)
    return told


def _gauges(folder: Path, bench: int) -> None:
    """Two gauges that fall due before a job in ten days is back."""
    _load(
        folder,
        Depots=[{"depot": "NY", "bench_a_day": bench}],
        Checks=[CALIBRATED],
        Items=[{"tag": tag, "kind": "gauge", "depot": "NY"} for tag in ("G1", "G2")],
        Inspections=[
            {"tag": tag, "check": "calibration", "done_on": _day(-360), "verdict": "pass"}
            for tag in ("G1", "G2")
        ],
        Arrangements=[GAUGES],
        Jobs=[_job("J-1", 10, 12, "readings")],
    )


def test_a_bench_of_one_a_day_checks_one_a_day(tmp_path: Path) -> None:
    _gauges(tmp_path, bench=1)
    said = run("rearrange", "--format", "json")
    told = _told(said)
    assert said.code == 0
    assert sorted(work["on"] for work in told["works"]) == [_day(8).isoformat(), _day(9).isoformat()]
    assert {(work["work"], work["check"], work["depot"]) for work in told["works"]} == {
        ("check", "calibration", "NY")
    }
    [line] = told["jobs"][0]["lines"]
    assert line == {"line": "gauges", "tags": ["G1", "G2"], "short": 0, "after": ["G1", "G2"]}


def test_without_a_bench_the_job_is_short(tmp_path: Path) -> None:
    _gauges(tmp_path, bench=0)
    said = run("rearrange", "--format", "json")
    assert said.code == 1
    assert "works" not in _told(said)
    assert _told(said)["objective"]["pieces_short"] == 2


def test_what_waits_for_a_check_is_promised_once_it_is_passed(tmp_path: Path) -> None:
    _gauges(tmp_path, bench=2)
    said = run("rearrange", "--apply")
    assert _promised() == {}
    assert "J-1 is not promised G1, G2 yet: a work must be done first." in said.err
    assert "Applied: 0 jobs rearranged." in said.err
    _load(
        tmp_path,
        Inspections=[
            {"tag": tag, "check": "calibration", "done_on": _day(0), "verdict": "pass"}
            for tag in ("G1", "G2")
        ],
    )
    said = run("rearrange", "--apply")
    assert said.code == 0
    assert _promised() == {"J-1": ["G1", "G2"]}
    assert "must be done first" not in said.err
    assert prove_ledger().fault is None


def _bags(folder: Path, lead_days: int) -> None:
    """WIDE may hold the only bag at its depot; NARROW needs that very one, and MB has one that would do for WIDE."""
    _load(
        folder,
        Checks=[{"kind": "bag", "check": None, "interval": None}],
        Ways=[{"from": "MB", "to": "NY", "lead_days": lead_days}],
        Items=[_bag("B1", "NY", 150, 250), _bag("B9", "MB", 150, 180)],
        Arrangements=[STOP],
        Jobs=[_job("WIDE", 6, 8, "stop", 160)],
    )
    assert run("kit_list", "WIDE", "--reserve").code == 0
    _load(folder, Jobs=[_job("NARROW", 6, 9, "stop", 200)])


def test_a_job_keeps_what_it_has_until_what_comes_instead_is_there(tmp_path: Path) -> None:
    _bags(tmp_path, lead_days=2)
    told = _told(run("rearrange", "--format", "json"))
    assert told["objective"] == {"jobs_short": 0, "pieces_short": 0, "changes": 1}
    assert told["works"] == [
        {
            "work": "transfer",
            "tag": "B9",
            "on": _day(3).isoformat(),
            "depot": "MB",
            "to": "NY",
            "arrives_on": _day(5).isoformat(),
        }
    ]
    said = run("rearrange", "--apply")
    assert "WIDE is not promised B9 yet: a work must be done first, and it keeps B1 till then." in said.err
    assert "NARROW is not promised B1 yet" in said.err
    assert _promised() == {"WIDE": ["B1"]}
    assert prove_ledger().fault is None


def test_no_transfer_that_would_be_there_too_late(tmp_path: Path) -> None:
    _bags(tmp_path, lead_days=6)
    told = _told(run("rearrange", "--format", "json"))
    assert "works" not in told
    assert told["objective"] == {"jobs_short": 1, "pieces_short": 1, "changes": 0}
