"""True exit codes and streams of the commands, run as a shell runs them on a real database."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.commands.registers import COMPLETE, SHORT, command_workbook
from tests.races import TOP, fresh_database

Done = subprocess.CompletedProcess[bytes]


def manage(url: str, *command: str) -> Done:
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=TOP,
        env={**os.environ, "DATABASE_URL": url},
        capture_output=True,
        check=False,
    )


@pytest.fixture(scope="module")
def url(engine: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A database of its own with a small register, loaded by the command."""
    with fresh_database(engine) as made:
        path = command_workbook(tmp_path_factory.mktemp("depot"))
        done = manage(made, "load_register", str(path), "--format", "json")
        assert (done.returncode, done.stderr) == (0, b"")
        assert json.loads(done.stdout)["loaded"] is True
        yield made


def sentence(done: Done) -> str:
    """The last line on standard error, of a command that refused."""
    assert (done.returncode, done.stdout) == (2, b"")
    text = done.stderr.decode()
    assert "Traceback" not in text
    return text.strip().splitlines()[-1]


def test_a_kit_list_is_0_complete_and_1_short(url: str) -> None:
    done = manage(url, "kit_list", COMPLETE, "--format", "json")
    assert (done.returncode, done.stderr, json.loads(done.stdout)["complete"]) == (0, b"", True)
    done = manage(url, "kit_list", SHORT, "--format", "json")
    assert (done.returncode, done.stderr, json.loads(done.stdout)["complete"]) == (1, b"", False)


def test_a_paper_and_a_spreadsheet_go_down_a_pipe_whole(url: str) -> None:
    assert manage(url, "kit_list", COMPLETE, "--format", "pdf").stdout.startswith(b"%PDF-")
    assert manage(url, "kit_list", COMPLETE, "--format", "xlsx").stdout.startswith(b"PK\x03\x04")
    assert manage(url, "inspections_due", "--format", "xlsx").stdout.startswith(b"PK\x03\x04")


def test_bad_input_is_2_and_a_sentence(url: str, tmp_path: Path) -> None:
    assert "Did you mean J-1?" in sentence(manage(url, "kit_list", "J-11"))
    assert "is not a date" in sentence(manage(url, "inspections_due", "--as-of", "2026-02-30"))
    assert "is not a number of days" in sentence(manage(url, "inspections_due", "--within", "x"))
    assert "There is no file" in sentence(manage(url, "load_register", str(tmp_path / "gone.xlsx")))
    # A name that is no UTF-8, as an old disk may have it.
    done = subprocess.run(
        [os.fsencode(sys.executable), b"manage.py", b"kit_list", b"J-\xff"],
        cwd=TOP,
        env={**os.environ, "DATABASE_URL": url},
        capture_output=True,
        check=False,
    )
    assert "holds characters that are no text" in sentence(done)


def test_faults_are_json_alone_on_standard_output(url: str, tmp_path: Path) -> None:
    path = tmp_path / "items.csv"
    path.write_text("tag,kind,depot,use_by\nX-1,bga,NY,31/02/2027\n")
    done = manage(url, "load_register", str(path), "--format", "json")
    assert done.returncode == 2
    assert [(f["row"], f["column"], f["value"]) for f in json.loads(done.stdout)["faults"]] == [
        (2, "kind", "bga"),
        (2, "use_by", "31/02/2027"),
    ]
    assert done.stderr.decode() == f"{path} was not loaded: 2 faults. Nothing has changed.\n"


def test_the_ledger_is_proved_and_nothing_differs(url: str) -> None:
    assert manage(url, "prove_ledger").returncode == 0
    assert manage(url, "rederive").returncode == 0


def test_databases_that_cannot_be_used(tmp_path: Path) -> None:
    empty = f"sqlite:///{tmp_path}/empty.sqlite3"
    for command in (
        ("kit_list", "J-1", "--format", "json"),
        ("inspections_due",),
        ("prove_ledger",),
        ("rederive",),
    ):
        assert "no tables yet: run `manage.py migrate` first" in sentence(manage(empty, *command))
    text = tmp_path / "text.sqlite3"
    text.write_text(
        "not a database, but long enough to be looked at as one, since the head is a hundred bytes" * 9
    )
    assert "The database does not answer" in sentence(manage(f"sqlite:///{text}", "prove_ledger"))
    assert text.read_text().startswith("not a database")
    nowhere = f"sqlite:///{tmp_path}/no such folder/x.sqlite3"
    assert "The database does not answer" in sentence(manage(nowhere, "load_register", "x.xlsx"))
    closed = "postgresql://postgres@127.0.0.1:1/none"
    assert "The database does not answer" in sentence(manage(closed, "inspections_due"))
    assert "only sqlite and postgresql are known" in sentence(manage("mysql://x/y", "prove_ledger"))


def test_a_register_goes_into_a_brand_new_database(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/new.sqlite3"
    done = manage(url, "load_register", str(command_workbook(tmp_path)))
    assert (done.returncode, done.stderr) == (0, b"")
    assert manage(url, "kit_list", COMPLETE).returncode == 0
