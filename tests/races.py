"""Several processes at one real database at the same moment.

A race test names a script, a Python file with up to three functions:

    set_up(round_number) -> given     run by the first process before each round; what it returns goes to all
    act(process, given) -> answer     run by every process at the same instant; `process` counts from 0
    look(given) -> afterwards         run by the first process when all have acted

What they return travels as JSON. Django is set up on the race's own database before the script is loaded,
once a process: so 200 rounds cost 200 actions, not 200 starts of Python. Example:

    with fresh_database(engine) as url:
        for done in run_together(SCRIPT, url, rounds=races()):
            assert [outcome.fault for outcome in done.outcomes].count("") == 1
"""

import atexit
import functools
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self
from urllib.parse import quote

from tests import databases

TOP = Path(__file__).resolve().parent.parent
LEAD_SECONDS = 0.01  # between telling the processes the instant and the instant itself
START_SECONDS = 120  # for Python and Django to load, on a machine busy with other tests


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one process got: its answer, or the class of its error (`fault`, empty if none) and its text."""

    answer: Any
    fault: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True)
class Round:
    """One round: what set_up gave, what each process got, in order of process, and what look saw."""

    given: Any
    outcomes: tuple[Outcome, ...]
    afterwards: Any


@contextmanager
def fresh_database(engine: str) -> Iterator[str]:
    """The DATABASE_URL of a migrated throw-away database; `engine` is "sqlite" or "postgresql"."""
    with ExitStack() as kept:
        if engine == "sqlite":
            folder = kept.enter_context(tempfile.TemporaryDirectory(prefix="fettlebook-race-"))
            url = f"sqlite:///{quote(folder)}/race.sqlite3"
        else:
            url = databases.with_name(databases.postgresql_url(), databases.unused_name("fettlebook_race"))
            kept.callback(databases.drop, url)
        databases.copy(_migrated(engine), url)
        yield url


def run_together(
    script: Path, database_url: str, *, processes: int = 2, rounds: int = 1, timeout_seconds: float = 60
) -> list[Round]:
    """Run the script's round `rounds` times in `processes` processes; one entry a round.

    Raises RaceFault if the script cannot be loaded, set_up or look fails, or a step takes too long.
    """
    with ExitStack() as kept:
        racers = [
            kept.enter_context(_Racer(script, database_url, number, timeout_seconds))
            for number in range(processes)
        ]
        for racer in racers:
            racer.answer(START_SECONDS)  # loaded and ready
        return [_one_round(racers, number) for number in range(rounds)]


class RaceFault(Exception):
    """A race could not be run as written: this says nothing about who would have won it."""


def _one_round(racers: list["_Racer"], number: int) -> Round:
    given = racers[0].ask({"do": "set_up", "round": number})
    instant = time.monotonic() + LEAD_SECONDS
    for racer in racers:
        racer.tell({"do": "act", "given": given, "at": instant})
    outcomes = tuple(racer.outcome() for racer in racers)
    return Round(given, outcomes, racers[0].ask({"do": "look", "given": given}))


class _Racer:
    """One process of a race, spoken to in lines of JSON."""

    def __init__(self, script: Path, database_url: str, number: int, timeout_seconds: float) -> None:
        self.name = f"process {number} of {script.name}"
        self.timeout_seconds = timeout_seconds
        self.reader = ThreadPoolExecutor(max_workers=1)
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tests.race_worker", str(script), str(number)],
            cwd=TOP,
            env={**os.environ, "DATABASE_URL": database_url, "DJANGO_SETTINGS_MODULE": "kit.settings"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        # Closing its input ends a process that is waiting; one that hangs is ended outright.
        try:
            self.process.communicate(timeout=0.01 if fault else 10)
        except (subprocess.TimeoutExpired, BrokenPipeError):
            self.process.kill()
            self.process.wait()
        self.reader.shutdown(wait=False)

    def tell(self, message: dict[str, Any]) -> None:
        assert self.process.stdin is not None
        try:
            self.process.stdin.write(json.dumps(message) + "\n")
            self.process.stdin.flush()
        except BrokenPipeError:
            raise RaceFault(f"{self.name} has ended; its own error stands above.") from None

    def outcome(self, timeout_seconds: float | None = None) -> Outcome:
        timeout_seconds = timeout_seconds or self.timeout_seconds
        assert self.process.stdout is not None
        try:
            line = self.reader.submit(self.process.stdout.readline).result(timeout_seconds)
        except TimeoutError:
            self.process.kill()  # also lets the reading thread go
            raise RaceFault(f"{self.name} gave no answer within {timeout_seconds:g} s.") from None
        if not line:
            raise RaceFault(f"{self.name} ended without an answer; its own error stands above.")
        return Outcome(**json.loads(line))

    def answer(self, timeout_seconds: float | None = None) -> Any:
        outcome = self.outcome(timeout_seconds)
        if outcome.fault:
            raise RaceFault(f"{self.name}: {outcome.fault}: {outcome.text}")
        return outcome.answer

    def ask(self, message: dict[str, Any]) -> Any:
        self.tell(message)
        return self.answer()


@functools.cache
def _migrated(engine: str) -> str:
    """A migrated database that races are copied from, made once a test run."""
    if engine == "sqlite":
        # Kept in a name of its own: the folder goes when this object does.
        folder = tempfile.TemporaryDirectory(prefix="fettlebook-race-")
        atexit.register(folder.cleanup)
        url = f"sqlite:///{quote(folder.name)}/migrated.sqlite3"
    elif engine == "postgresql":
        url = databases.with_name(databases.postgresql_url(), databases.unused_name("fettlebook_migrated"))
        databases.create_empty(url)
        atexit.register(databases.drop, url)
    else:
        raise ValueError(f"No engine is named {engine!r}: write sqlite or postgresql.")
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--verbosity", "0"],
        cwd=TOP,
        env={**os.environ, "DATABASE_URL": url},
        check=True,
    )
    return url
