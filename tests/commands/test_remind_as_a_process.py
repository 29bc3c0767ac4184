"""Reminders sent as a shell or a timer sends them: how mail is sent comes from the environment alone."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.commands.mail_server import mail_server
from tests.commands.registers import command_workbook
from tests.races import TOP, fresh_database

ARGUMENTS = ("remind", "--to", "stores@depot.example", "--role", "stores", "--even-if-empty")


def manage(url: str, *command: str, **mail: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("FETTLEBOOK_MAIL_")}
    said = {f"FETTLEBOOK_MAIL_{name}": value for name, value in mail.items()}
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=TOP,
        env={**kept, **said, "DATABASE_URL": url},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.once
@pytest.mark.django_db
def test_the_environment_says_how_and_without_it_nothing_is_sent(engine: str, tmp_path) -> None:
    with fresh_database(engine) as url, mail_server() as box:
        assert manage(url, "load_register", str(command_workbook(tmp_path))).returncode == 0
        without = manage(url, *ARGUMENTS)
        assert (without.returncode, without.stdout) == (2, "")
        assert "FETTLEBOOK_MAIL_HOST" in without.stderr
        assert "Traceback" not in without.stderr
        environment = {
            "HOST": "127.0.0.1",
            "PORT": str(box.port),
            "TLS": "none",
            "FROM": "fettlebook@depot.example",
            "LINKS": "https://fettlebook.example",
        }
        done = manage(url, *ARGUMENTS, **environment)
        assert done.returncode == 0, done.stderr
        assert {tuple(recipients) for recipients, _message in box.received} == {("stores@depot.example",)}
        assert all(message["From"] == "fettlebook@depot.example" for _recipients, message in box.received)
        number = len(box.received)
        # Another process knows what went out already.
        assert manage(url, *ARGUMENTS, **environment).returncode == 0
        assert len(box.received) == number
