"""5,000 items with 20,000 inspections are loaded whole in less than 500 MB, in a process of its own."""

from __future__ import annotations

import datetime as dt
import json
import os
import subprocess
import sys
from pathlib import Path

from tests.bench.register_file import INSPECTIONS, ITEMS, write_register
from tests.races import TOP, fresh_database

MOST_MB = 500


def test_a_large_register_loads_in_less_than_500_mb(engine: str, tmp_path: Path) -> None:
    path = write_register(tmp_path / "register.xlsx", dt.date.today())
    with fresh_database(engine) as url:
        done = subprocess.run(
            [sys.executable, "-m", "tests.bench.peak", str(path)],
            cwd=TOP,
            env={**os.environ, "DATABASE_URL": url},
            capture_output=True,
            text=True,
            check=False,
        )
    assert done.returncode == 0, done.stderr
    answer, figures = json.loads(done.stdout), json.loads(done.stderr)
    print(
        f"\n{engine}: {ITEMS:,} items and {INSPECTIONS:,} inspections in {figures['seconds']:.1f} s, peak "
        f"{figures['ru_maxrss_mb']:.0f} MB (ru_maxrss; {figures['before_mb']:.0f} MB before loading)"
    )
    assert answer["loaded"] is True
    assert answer["new"] >= ITEMS + INSPECTIONS
    assert figures["ru_maxrss_mb"] < MOST_MB
