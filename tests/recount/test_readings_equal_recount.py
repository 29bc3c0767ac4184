"""What the commands answer of made-up readings equals a recount: due list, kit list, verdicts and look-back.

FETTLEBOOK_CASES says how many registers.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import call_command

from tests.counts import cases
from tests.recount.bench_walk import BenchWalk

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("seed", range(cases(8)))
def test_every_answer_about_readings_is_the_recounted_one(seed: int, tmp_path: Path) -> None:
    found = BenchWalk(seed, tmp_path).run()
    assert not found, "\n".join(found)
    call_command("prove_ledger")
    call_command("rederive")
