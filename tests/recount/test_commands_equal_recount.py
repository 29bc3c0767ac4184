"""The commands answer what a second implementation, written from the design page alone, works out itself.

How many made-up registers are compared is FETTLEBOOK_CASES; each is loaded, asked, reserved from and asked again.
"""

from pathlib import Path

import pytest

from tests.counts import cases
from tests.recount.walk import Walk

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("seed", range(cases(4)))
def test_the_commands_answer_as_the_recount_does(seed: int, tmp_path: Path) -> None:
    assert Walk(seed, tmp_path).run() == []
