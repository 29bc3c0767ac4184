"""Give a person a role at a depot; the account is made if there is none."""

from __future__ import annotations

import getpass
import sys
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import CommandParser

from kit.management.base import TradeCommand
from kit.models import Depot, Role
from kit.stores import acting, appoint, depot_named
from kit.workbooks.sheets import nearest_name


class Command(TradeCommand):
    help = "Give USER a role at a depot. A new account asks for a password (or reads it from standard input)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("user", metavar="USER")
        parser.add_argument("role", metavar="ROLE", choices=Role.values, help=", ".join(Role.values))
        parser.add_argument("depot", metavar="DEPOT", help="code of the depot")
        parser.add_argument(
            "--new-depot", action="store_true", help="set the depot up if there is none of this code"
        )

    def run(self, **options: Any) -> int:
        user = User.objects.filter(username=options["user"]).first()
        password = None if user else self._password(options["user"])
        with acting(self.who()) as act:
            depot = Depot.objects.filter(code=options["depot"]).first()
            if depot is None and options["new_depot"]:
                depot = depot_named(act, options["depot"])
            if depot is None:
                near = nearest_name(options["depot"], Depot.objects.values_list("code", flat=True))
                hint = f" Did you mean {near}?" if near else " With --new-depot it is set up."
                raise self.refuse(f"There is no depot {options['depot']} in the register.{hint}")
            if user is None:
                user = User.objects.create_user(options["user"], password=password)
            held = appoint(act, user, depot, options["role"])
        self.say(str(held))
        return 0

    def _password(self, name: str) -> str:
        """A password for a new account, twice from the keyboard or once from a pipe."""
        if sys.stdin.isatty():
            password = getpass.getpass(f"Password for {name}: ")
            if password != getpass.getpass("Once more: "):
                raise self.refuse("The two passwords differ: nothing was changed. Try again.")
        else:
            password = sys.stdin.readline().rstrip("\n")
        try:
            validate_password(password, User(username=name))
        except ValidationError as weak:
            raise self.refuse(f"This password will not do: {' '.join(weak.messages)}") from weak
        return password
