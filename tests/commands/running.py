"""Running a command in the test's own process as a shell would: both streams apart, and the exit code."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from typing import Any
from unittest import mock

from django.core.management import get_commands, load_command_class


@dataclass(frozen=True, slots=True)
class Said:
    """What a command wrote to standard output and error, and its exit code."""

    out: str
    err: str
    code: int

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def run(name: str, *arguments: str) -> Said:
    """Run a command with its arguments as typed; what it writes in bytes must go to a file."""
    out, err = io.StringIO(), io.StringIO()
    code = 0
    # A command run from a shell closes its connections, and with them the test's transaction.
    kept_open = mock.patch("django.core.management.base.connections.close_all")
    with kept_open, redirect_stdout(out), redirect_stderr(err):
        command = load_command_class(get_commands()[name], name)
        try:
            command.run_from_argv(["manage.py", name, *arguments])
        except SystemExit as stop:
            code = int(stop.code or 0)
    return Said(out.getvalue(), err.getvalue(), code)
