"""What the commands share: dates, exit codes, where output goes. JSON alone to standard output, messages to error.

Exit codes: 0 done, 1 the answer is no, 2 bad input.
"""

from __future__ import annotations

import getpass
import json
import os
import sys
from argparse import ArgumentTypeError
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from kit.stores import NotAllowed, Who

_FIRST_YEAR, _LAST_YEAR = 1900, 2199


def day(text: str) -> date:
    """A date argument, YYYY-MM-DD, of the years that the register's own dates may have."""
    try:
        found = date.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or len(text) != len("YYYY-MM-DD"):
        raise ArgumentTypeError(f"{text!r} is not a date: write it as YYYY-MM-DD, for example 2027-03-31")
    if not _FIRST_YEAR <= found.year <= _LAST_YEAR:
        raise ArgumentTypeError(f"{text!r} cannot be right: write a day from {_FIRST_YEAR} to {_LAST_YEAR}")
    return found


def days(text: str) -> int:
    """A whole number of days, 0 or more."""
    try:
        number = int(text)
    except ValueError:
        number = -1
    if not 0 <= number <= 36_525:
        raise ArgumentTypeError(f"{text!r} is not a number of days: write a whole number from 0 to 36525")
    return number


def port(text: str) -> int:
    """A TCP port."""
    if not text.isdigit() or not 0 < int(text) < 65_536:
        raise ArgumentTypeError(f"{text!r} is not a port: write a whole number from 1 to 65535")
    return int(text)


class TradeCommand(BaseCommand):
    """Base of all commands: bad input is a sentence on standard error and exit 2, never a traceback."""

    requires_system_checks: list[str] = []

    def who(self) -> Who:
        """Who runs the command: FETTLEBOOK_ACTOR, else the user logged in on this machine."""
        name = os.environ.get("FETTLEBOOK_ACTOR")
        if not name:
            try:
                name = getpass.getuser()
            except (KeyError, OSError):
                name = "command"
        return Who(name, f"command {self.name}")

    @property
    def name(self) -> str:
        return type(self).__module__.rsplit(".", 1)[-1]

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            if output := options.get("output"):
                self._check_output(output)
            code = self.run(**options)
        except NotAllowed as refusal:
            raise self.refuse(str(refusal)) from refusal
        except UnicodeEncodeError as error:
            raise self.refuse(
                f"{ascii(error.object)[1:-1][:80]} holds characters that are no text: type it again."
            ) from error
        except DatabaseError as error:
            why = self._why_no_database(error)
            if not why:
                raise
            raise self.refuse(why) from error
        except BrokenPipeError:
            # Who reads the output has read enough (`| head`). Python would complain once more when it closes it.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return
        if code:
            sys.exit(code)

    def _why_no_database(self, error: DatabaseError) -> str:
        """What is wrong with the database itself, as a sentence; empty if the fault must be the program's own."""
        said = str(error).splitlines()[0]
        try:
            if not self.has_tables():
                return "The database has no tables yet: run `manage.py migrate` first (or `manage.py demo`)."
            executor = MigrationExecutor(connection)
            if executor.migration_plan(executor.loader.graph.leaf_nodes()):
                return "The database is of an older version of the program: run `manage.py migrate` first."
        except DatabaseError:
            return f"The database does not answer ({said}). Start it, or name another in DATABASE_URL."
        if isinstance(error, OperationalError):
            return (
                f"The database could not do it ({said}). Nothing was changed; try again when that is mended."
            )
        return ""

    @staticmethod
    def _is_ordinary(path: Path) -> bool:
        """False for a terminal, a pipe or the like, which is written to as it is."""
        return path.is_file() or not path.exists()

    def _check_output(self, output: str) -> None:
        """Refuse a file that cannot be written before anything is done."""
        path = Path(output)
        if path.is_dir():
            raise self.refuse(f"{output} is a folder. Name a file in it.")
        if not path.parent.is_dir():
            raise self.refuse(f"{output} cannot be written: there is no folder {path.parent}.")
        if not os.access(path if path.exists() else path.parent, os.W_OK):
            raise self.refuse(f"{output} cannot be written: you may not write there. Name another file.")

    def run(self, **options: Any) -> int:
        """Do the work; gives the exit code."""
        raise NotImplementedError

    def has_tables(self) -> bool:
        return "kit_ledgerentry" in connection.introspection.table_names()

    def say(self, text: str) -> None:
        """A message for a person, on standard error."""
        self.stderr.write(text, self.style.NOTICE if self.stderr.isatty() else None)

    def refuse(self, sentence: str) -> CommandError:
        return CommandError(sentence, returncode=2)

    def emit(self, content: str | bytes, output: str | None) -> None:
        """Write to the file `output`, else to standard output."""
        data = content.encode() if isinstance(content, str) else content
        if output:
            try:
                self._write(Path(output), data)
            except OSError as error:
                raise self.refuse(
                    f"{output} cannot be written: {error.strerror}. Name another file."
                ) from error
            self.say(f"written: {output}")
        elif isinstance(content, str):
            self.stdout.write(content, ending="" if content.endswith("\n") else "\n")
        elif sys.stdout.isatty():
            raise self.refuse("This is not text: name a file for it with -o FILE.")
        else:
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()

    def _write(self, path: Path, data: bytes) -> None:
        """All of it or none: an older file stays as it was until the new one is whole."""
        if not self._is_ordinary(path):
            path.write_bytes(data)
            return
        part = path.with_name(f".{path.name}.part")
        try:
            part.write_bytes(data)
            os.replace(part, path)
        finally:
            part.unlink(missing_ok=True)

    def emit_json(self, data: Any, output: str | None = None) -> None:
        self.emit(json.dumps(data, ensure_ascii=False, indent=1) + "\n", output)

    @staticmethod
    def add_output(parser: CommandParser, *formats: str) -> None:
        parser.add_argument("--format", choices=formats, default="text")
        parser.add_argument("-o", "--output", metavar="FILE")

    @staticmethod
    def add_as_of(parser: CommandParser) -> None:
        parser.add_argument(
            "--as-of",
            type=day,
            default=None,
            metavar="DATE",
            help="as the register knew it on that day (default today)",
        )

    @staticmethod
    def as_of(options: dict[str, Any]) -> date:
        return options["as_of"] or timezone.localdate()
