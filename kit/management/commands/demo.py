"""Set up the demo: an invented depot pair as of today, six people, a few days' work; then serve it."""

from __future__ import annotations

import socket
import tempfile
from pathlib import Path
from types import ModuleType
from typing import Any

from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import CommandParser
from django.db import connection, transaction
from django.utils import timezone

from kit.management.base import TradeCommand, port
from kit.management.commands import load_register as loading
from kit.models import Deed, LedgerEntry
from kit.stores import Who, acting, differences, prove_ledger
from kit.workbooks.loading import load_register

HOST = "127.0.0.1"
WORKBOOK = "two_depots.xlsx"
THREADS = 4  # a browser asks for a page's files at once
LOADER = Who("demo", "command demo")


class Command(TradeCommand):
    help = (
        "Set up the demo in an empty database and serve it on 127.0.0.1: invented depots, one user per role. "
        "A database that holds the demo already is served as it is."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--port", type=port, default=8000, metavar="N", help="port to serve on (default 8000)"
        )
        parser.add_argument("--no-serve", action="store_true", help="set up only, do not serve")

    def run(self, **options: Any) -> int:
        make_workbook, first_days = self._fixtures()
        if not options["no_serve"]:
            self._refuse_taken_port(options["port"])
        here = self.has_tables() and self._holds_the_demo()
        call_command("migrate", verbosity=0)
        if here:
            self.stdout.write("This database holds the demo already; it stays as it is.")
        else:
            self._set_up(make_workbook, first_days)
        self._introduce(first_days, None if options["no_serve"] else options["port"])
        if not options["no_serve"]:
            serve(options["port"])
        return 0

    def _holds_the_demo(self) -> bool:
        """True if the demo was set up here; refuses a database that anything else was done with."""
        if LedgerEntry.objects.filter(source=LOADER.source, deed=Deed.LOADED).exists():
            return True
        entries = LedgerEntry.objects.count()
        if entries or User.objects.exists():
            holds = f"a register ({entries:,} ledger entries)" if entries else "user accounts"
            raise self.refuse(
                f"The database already holds {holds}, and the demo goes into an empty one only: name another "
                "in DATABASE_URL, for example DATABASE_URL=sqlite:///demo.sqlite3."
            )
        return False

    def _fixtures(self) -> tuple[ModuleType, ModuleType]:
        """The modules that make the workbook and live with it."""
        try:
            # Here, not above: the workbook's script needs a package that the program itself does not.
            from demo_fixtures import first_days, make_workbook
        except ImportError as missing:
            raise self.refuse(
                f'The demo needs {missing.name}: install it from the checkout with `pip install -e ".[demo]"`.'
            ) from missing
        return make_workbook, first_days

    def _set_up(self, make_workbook: ModuleType, first_days: ModuleType) -> None:
        with tempfile.TemporaryDirectory() as folder, transaction.atomic():
            # One transaction round all of it: a demo that is interrupted leaves the database empty.
            path = Path(folder) / WORKBOOK
            path.write_bytes(make_workbook.build(timezone.localdate()))
            report = load_register(path, LOADER)
            self.stdout.write(loading.as_text(report, WORKBOOK, dry_run=False))
            if report.faults:
                raise self.refuse("The demo's own workbook has faults, which is a bug: nothing was written.")
            with acting(LOADER) as act:
                first_days.engage(act)
            for sentence in first_days.live():
                self.stdout.write(sentence)
            self._prove()

    def _prove(self) -> None:
        proof = prove_ledger()
        if proof.fault:
            raise self.refuse(f"The demo's ledger does not prove, which is a bug: {proof.fault}")
        differ = differences()
        if differ:
            raise self.refuse(f"A due date of the demo differs from its records, which is a bug: {differ[0]}")
        self.stdout.write(f"Proved: {proof.entries:,} ledger entries, and every due date as derived anew.")

    def _introduce(self, first_days: ModuleType, number: int | None) -> None:
        """Who can sign in, and where if it is served on a port."""
        self.stdout.write("\nSign in as:")
        for person in first_days.PEOPLE:
            self.stdout.write(f"  {person.username:<14} {person.role.label}")
        self.stdout.write(f"The password of each is {first_days.PASSWORD}")
        if number is not None:
            self.stdout.write(f"\nServing on http://{HOST}:{number}/ until Ctrl+C.")
            self.stdout.flush()

    def _refuse_taken_port(self, number: int) -> None:
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, number))
            except OSError as error:
                raise self.refuse(
                    f"Port {number} cannot be served ({error.strerror}): name another with --port."
                ) from error


def serve(number: int) -> None:
    """Serve the project on this machine alone until it is interrupted."""
    from granian.constants import Interfaces
    from granian.log import LogLevels
    from granian.server import Server

    connection.close()
    Server(
        "kit.wsgi:application",
        address=HOST,
        port=number,
        interface=Interfaces.WSGI,
        blocking_threads=THREADS,
        websockets=False,
        log_level=LogLevels.warning,
    ).serve()
