"""Run every check and every test: `python -m tests`, or some parts by name: `python -m tests ruff sqlite`.

Without a part named, all of them run, also after a failure, and the last lines say how each went. Exit 0 if
none failed. Where Chromium or a PostgreSQL server is missing, the parts that need it are left out and named
at the end; with CI=true that is a failure.

From the environment: FETTLEBOOK_TEST_POSTGRESQL (the server to use), FETTLEBOOK_CHROMIUM (the browser),
FETTLEBOOK_CASES and FETTLEBOOK_RACES (how often repeating tests repeat).
"""

import argparse
import os
import shlex
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from tests import databases
from tests.browser import chromium

TOP = Path(__file__).resolve().parent.parent
PYTHON = sys.executable
NO_TEST_RAN = 5  # pytest's exit code


@dataclass(frozen=True, slots=True)
class Part:
    """One line of the summary. `needs`: what the machine must have, "postgresql", "chromium" or nothing."""

    name: str
    heading: str
    command: tuple[str, ...]
    engine: str = "sqlite"
    needs: str = ""
    environment: dict[str, str] = field(default_factory=dict)
    when_named: bool = False


@dataclass(frozen=True, slots=True)
class Result:
    part: Part
    verdict: str  # passed, failed or left out
    seconds: float = 0.0
    why: str = ""


def pytest(marks: str, *arguments: str) -> tuple[str, ...]:
    return (PYTHON, "-m", "pytest", "-q", "-r", "fEsx", "-m", marks, *arguments)


def all_parts() -> list[Part]:
    """In the order they run: what is quick to fail first."""
    alone = "not browser and not race and not bench"
    together = ("-n", "auto", "--dist", "worksteal")
    return [
        Part("ruff", "Lint", (PYTHON, "-m", "ruff", "check", ".")),
        Part("format", "Format", (PYTHON, "-m", "ruff", "format", "--check", ".")),
        Part("types", "Types, strict where the rules live", (PYTHON, "-m", "mypy")),
        Part("imports", "Import contracts", (str(Path(PYTHON).with_name("lint-imports")),)),
        Part(
            "migrations",
            "Migrations say what the models say",
            (PYTHON, "manage.py", "makemigrations", "--check"),
        ),
        Part(
            "settings",
            "Settings hold for production",
            (PYTHON, "manage.py", "check", "--deploy", "--fail-level", "WARNING"),
            environment={"FETTLEBOOK_DEBUG": "", "FETTLEBOOK_HTTPS": "1"},
        ),
        Part("sqlite", "Tests on SQLite", pytest(alone, *together)),
        Part(
            "postgresql",
            "Tests on PostgreSQL",
            pytest(f"{alone} and not once", *together),
            "postgresql",
            "postgresql",
        ),
        # One after another: each of them starts processes of its own.
        Part("races-sqlite", "Races on SQLite", pytest("race and not bench")),
        Part(
            "races-postgresql",
            "Races on PostgreSQL",
            pytest("race and not bench"),
            "postgresql",
            "postgresql",
        ),
        Part(
            "browser",
            "Tests in a browser",
            pytest("browser and not bench", *together, "tests/browser"),
            needs="chromium",
        ),
        # Its figures are worth something on a quiet machine only.
        Part("bench", "Benchmarks", (*pytest("bench", "tests/bench"), "-s"), when_named=True),
    ]


def why_missing(need: str) -> str:
    """Empty if the machine has it, else a sentence."""
    if need == "chromium" and not chromium.executable():
        return "Chromium is not on this machine: install it, or name it with FETTLEBOOK_CHROMIUM."
    if need == "postgresql" and (fault := databases.why_no_postgresql()):
        return f"No PostgreSQL answers at {databases.postgresql_url()}: {fault}"
    return ""


def run(part: Part, folder: Path) -> Result:
    print(f"\n=== {part.heading} ({part.name}) ===", flush=True)
    if why := why_missing(part.needs):
        print(why, flush=True)
        return Result(part, "failed" if os.environ.get("CI") == "true" else "left out", why=why)
    # Never a depot's own database, whatever a test may start: the DATABASE_URL around us is not for tests.
    url = f"sqlite:///{folder}/tests.sqlite3" if part.engine == "sqlite" else databases.postgresql_url()
    started = time.monotonic()
    code = subprocess.run(
        part.command, cwd=TOP, env={**os.environ, "DATABASE_URL": url, **part.environment}, check=False
    ).returncode
    verdict = "failed" if code else "passed"
    return Result(part, verdict, time.monotonic() - started, "no test ran" if code == NO_TEST_RAN else "")


def summarise(results: list[Result]) -> None:
    print("\n=== Summary ===")
    for result in results:
        why = f"  {result.why}" if result.why else ""
        print(f"{result.verdict:>8}  {result.seconds:6.1f} s  {result.part.heading}{why}")
    counts = {
        verdict: sum(result.verdict == verdict for result in results)
        for verdict in ("passed", "failed", "left out")
    }
    print(
        f"parts: {counts['passed']} passed, {counts['failed']} failed, {counts['left out']} skipped",
        flush=True,
    )


def main() -> int:
    parts = all_parts()
    names = [part.name for part in parts]
    parser = argparse.ArgumentParser(prog="python -m tests", description=(__doc__ or "").partition("\n")[0])
    parser.add_argument(
        "parts", nargs="*", metavar="PART", help=f"one of: {', '.join(names)}; all but bench if none is named"
    )
    parser.add_argument("--list", action="store_true", help="name the parts and run nothing")
    wanted = parser.parse_args()
    if unknown := [name for name in wanted.parts if name not in names]:
        parser.error(f"no part is named {unknown[0]!r}; there are: {', '.join(names)}")
    if wanted.list:
        for part in parts:
            print(f"{part.name:17} {part.heading}: {shlex.join(part.command)}")
        return 0
    with tempfile.TemporaryDirectory(prefix="fettlebook-tests-") as folder:
        chosen = [p for p in parts if (p.name in wanted.parts if wanted.parts else not p.when_named)]
        results = [run(part, Path(folder)) for part in chosen]
    summarise(results)
    return 1 if any(result.verdict == "failed" for result in results) else 0


if __name__ == "__main__":
    sys.exit(main())
