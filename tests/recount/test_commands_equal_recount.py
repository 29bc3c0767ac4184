"""What load_register, kit_list and inspections_due answer equals a recount by trying everything, on made-up registers.

Each register is loaded, asked of on several days, reserved job by job, issued, moved and set aside, and after every
step all commands are compared with the recount. FETTLEBOOK_CASES says how many registers.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import call_command

from tests.counts import cases
from tests.recount.walk import Walk

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("seed", range(cases(8)))
def test_every_answer_is_the_recounted_one(seed: int, tmp_path: Path) -> None:
    walk = Walk(seed, tmp_path)
    assert walk.run() == []
    call_command("prove_ledger")
    call_command("rederive")
