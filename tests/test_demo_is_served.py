"""The demo command serves on the port asked for, ends on Ctrl+C, and says so when it cannot."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

TOP = Path(__file__).resolve().parent.parent
PATIENCE = 120  # seconds: all workers share the machine's cores


@pytest.fixture
def taken() -> socket.socket:
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        yield holder


def answer(port: int) -> bytes:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/sign-in/", timeout=20) as page:
        return page.read()


@pytest.mark.once
def test_the_demo_is_served_until_it_is_interrupted(tmp_path: Path) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = {key: value for key, value in os.environ.items() if not key.startswith("FETTLEBOOK_")}
    # A file of its own, whatever engine the tests run on: what is asked here is whether it is served.
    environment["DATABASE_URL"] = f"sqlite:///{tmp_path}/demo.sqlite3"
    said = tmp_path / "said"
    with said.open("w") as output:
        served = subprocess.Popen(
            [sys.executable, str(TOP / "manage.py"), "demo", "--port", str(port)],
            cwd=tmp_path,
            env=environment,
            stdout=output,
            stderr=subprocess.STDOUT,
        )
    try:
        page = b""
        ends = time.monotonic() + PATIENCE
        while not page:
            assert served.poll() is None, said.read_text()
            assert time.monotonic() < ends, said.read_text()
            try:
                page = answer(port)
            except (urllib.error.URLError, OSError):
                time.sleep(0.3)
        assert b"Fettlebook" in page
        assert f"http://127.0.0.1:{port}/" in said.read_text()
        served.send_signal(signal.SIGINT)
        assert served.wait(timeout=30) == 0
    finally:
        served.kill()
        served.wait()
    assert "Traceback" not in said.read_text()


@pytest.mark.django_db
def test_a_port_in_use_is_named_before_anything_is_set_up(taken: socket.socket) -> None:
    port = taken.getsockname()[1]
    with pytest.raises(CommandError, match=f"Port {port} cannot be served") as refused:
        call_command("demo", port=port)
    assert refused.value.returncode == 2
