"""A fault put into made-up readings: exactly that cell is named, whatever leans on it, and nothing is written."""

from __future__ import annotations

import random
from copy import deepcopy
from pathlib import Path

import pytest
from django.utils import timezone

from kit import stores
from kit.models import Item, LedgerEntry
from tests.counts import cases
from tests.recount.bench_faults import FAULTS
from tests.recount.bench_made_up import BenchMadeUp
from tests.recount.bench_walk import whole_rows
from tests.recount.comparing import answer, shipped
from tests.recount.made_up import save

pytestmark = pytest.mark.django_db
FAULTS_A_REGISTER = 6


@pytest.mark.parametrize("seed", range(cases(8)))
def test_exactly_the_spoilt_cell_is_named_and_nothing_is_loaded(seed: int, tmp_path: Path) -> None:
    with stores.acting(stores.Who("clerk", "recount")) as act:
        stores.found_register(act)
    entries = LedgerEntry.objects.count()
    made = BenchMadeUp(seed, timezone.localdate(), *shipped())
    sound = deepcopy(made.sheets)
    wrong = []
    for name in random.Random(seed).sample(sorted(FAULTS), FAULTS_A_REGISTER):
        made.sheets = deepcopy(sound)
        spoilt = FAULTS[name](made)
        if spoilt is None:
            continue
        path = tmp_path / "spoilt.xlsx"
        save(path, whole_rows(made.sheets))

        report, code = answer("load_register", str(path))

        named = [
            (fault["sheet"], fault["row"], fault["column"], fault["value"]) for fault in report["faults"]
        ]
        counts = [report[key] for key in ("loaded", "new", "changed", "unchanged")]
        if named != [spoilt] or (code, counts) != (2, [False, 0, 0, 0]):
            wrong.append(f"{name}: {spoilt} was spoilt, named was {report['faults']}, exit {code}, {counts}")
        assert all(fault["why"] for fault in report["faults"])
        if Item.objects.exists() or LedgerEntry.objects.count() != entries:
            wrong.append(f"{name}: something was written")
            break
    assert not wrong, "\n".join(wrong)
