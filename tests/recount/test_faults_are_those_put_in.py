"""Faults put into a made-up register: exactly those are named, each at its cell, and nothing is loaded."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from kit import stores
from kit.models import Item, LedgerEntry
from tests.counts import cases
from tests.recount.comparing import answer
from tests.recount.made_up import MadeUp, Row, save

pytestmark = pytest.mark.django_db

FUTURE = (timezone.localdate() + timedelta(days=40)).isoformat()
BAD_CELLS: list[tuple[str, str, Any, Callable[[Row], bool]]] = [
    ("Items", "use_by", "31/02/2027", bool),
    ("Items", "use_by", "2027-13", bool),
    ("Items", "use_by", "270231", bool),
    ("Items", "use_by", "3/94", bool),
    ("Items", "use_by", "soon", bool),
    ("Items", "state", "broken", bool),
    ("Items", "kind", "unheard-of thing", bool),
    ("Items", "depot", None, bool),
    ("Items", "bore_max_mm", "0,5 m", lambda row: row.get("bore_min_mm") is not None),
    ("Items", "bore_max_mm", 1, lambda row: (row.get("bore_min_mm") or 0) > 1),
    ("Items", "quantity", "two", lambda row: (row.get("quantity") or 0) > 1),
    ("Items", "quantity", 2, lambda row: row.get("quantity") is None),
    ("Inspections", "verdict", "ok", bool),
    ("Inspections", "verdict", None, bool),
    ("Inspections", "done_on", FUTURE, bool),
    ("Inspections", "done_on", "2026-03", bool),
    ("Inspections", "done_on", "29/02/2025", bool),
    ("Inspections", "tag", "nobody's tag", bool),
    ("Inspections", "check", "unheard-of check", bool),
    ("Jobs", "load_on", "30/02/2027", bool),
    ("Jobs", "return_on", "2020-01-01", bool),
    ("Jobs", "arrangement", "unheard-of pattern", bool),
    ("Jobs", "bore_mm", "wide", bool),
    ("Arrangements", "quantity", 0, bool),
    ("Arrangements", "quantity", 1.5, bool),
    ("Arrangements", "match", "size", bool),
    ("Checks", "interval", "6 months", lambda row: row.get("check") is not None),
    ("Checks", "basis", "now and then", lambda row: row.get("check") is not None),
    ("Checks", "gates", "perhaps", lambda row: row.get("check") is not None),
    ("Kinds", "margin_days", -1, bool),
]


def put_in(dice: random.Random, made: MadeUp) -> set[tuple[str, int, str, str | None]]:
    """Spoil one to six cells, each in a row of its own; gives where, and what then stands there."""
    spoilt: dict[tuple[str, int], tuple[str, str | None]] = {}
    chosen = dice.sample(BAD_CELLS, dice.randint(1, 6))
    if "unheard-of thing" in (value for _, _, value, _ in chosen):
        # Of an item whose kind cannot be told, nobody can say which checks it has.
        chosen = [bad for bad in chosen if bad[2] != "unheard-of check"]
    for sheet, column, value, suits in chosen:
        rows = made.sheets.get(sheet, [])
        places = [n for n, row in enumerate(rows) if suits(row) and (sheet, n) not in spoilt]
        if places:
            place = dice.choice(places)
            rows[place] = {**rows[place], column: value}
            spoilt[sheet, place] = (column, None if value is None else str(value))
    return {(sheet, place + 2, column, value) for (sheet, place), (column, value) in spoilt.items()}


@pytest.mark.parametrize("seed", range(cases(12)))
def test_exactly_the_spoilt_cells_are_named_and_nothing_is_loaded(seed: int, tmp_path: Path) -> None:
    with stores.acting(stores.Who("clerk", "recount")) as act:
        stores.found_register(act)
    entries = LedgerEntry.objects.count()
    made = MadeUp(seed, timezone.localdate())
    spoilt = put_in(random.Random(seed), made)
    path = tmp_path / "spoilt.xlsx"
    for rows in made.sheets.values():
        columns = {column: None for row in rows for column in row}
        rows[:] = [{**columns, **row} for row in rows]
    if "Checks" in made.sheets:  # where no kind has a check, the sheet still needs its headings
        made.sheets["Checks"] = [{"check": None, "interval": None, **row} for row in made.sheets["Checks"]]
    save(path, {name: rows for name, rows in made.sheets.items() if rows})

    report, code = answer("load_register", str(path))

    named = [(f["sheet"], f["row"], f["column"], f["value"]) for f in report["faults"]]
    assert sorted(named, key=repr) == sorted(spoilt, key=repr), report["faults"]
    assert all(fault["why"] for fault in report["faults"])
    if spoilt:
        counts = [report[key] for key in ("loaded", "new", "changed", "unchanged")]
        assert (code, counts) == (2, [False, 0, 0, 0])
        assert not Item.objects.exists()
        assert LedgerEntry.objects.count() == entries
