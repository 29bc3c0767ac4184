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
from django.utils import timezone

from kit.stores import NotAllowed, Who


def day(text: str) -> date:
    """A date argument, YYYY-MM-DD."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(
            f"{text!r} is not a date: write it as YYYY-MM-DD, for example 2027-03-31"
        ) from None


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
            code = self.run(**options)
        except NotAllowed as refusal:
            raise CommandError(str(refusal), returncode=2) from refusal
        except DatabaseError as error:
            try:
                ready = self.has_tables()
            except OperationalError:
                said = str(error).splitlines()[0]
                raise CommandError(
                    f"The database does not answer ({said}). Start it, or name another in DATABASE_URL.",
                    returncode=2,
                ) from error
            if ready:
                raise
            raise CommandError(
                "The database has no tables yet: run `manage.py migrate` first (or `manage.py demo`).",
                returncode=2,
            ) from error
        if code:
            sys.exit(code)

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
            path = Path(output)
            try:
                path.write_bytes(data)
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
