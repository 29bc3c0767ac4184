"""A benchmark on both engines, each in a process and a fresh database of its own."""

from __future__ import annotations

import os
import subprocess
import sys

from tests import databases
from tests.races import TOP, fresh_database


def on_each_engine(module: str, *arguments: str) -> None:
    """Run `python -m module arguments` on SQLite, then on PostgreSQL if a server answers."""
    for engine in ("sqlite", "postgresql"):
        if engine == "postgresql" and (why := databases.why_no_postgresql()):
            print(f"postgresql: left out, {why}")
            continue
        with fresh_database(engine) as url:
            subprocess.run(
                [sys.executable, "-m", module, *arguments],
                cwd=TOP,
                env={**os.environ, "DATABASE_URL": url},
                check=True,
            )
