"""Derive every due date and fit_until anew and report those that differ from what is stored."""

from typing import Any

from kit.management.base import TradeCommand
from kit.stores import acting, differences


class Command(TradeCommand):
    help = "Derive every due date and fit_until anew; exit 1 and a line for each that differs from what is stored."

    def run(self, **options: Any) -> int:
        with acting(self.who()):
            pass  # a rule whose day has come since the last act comes into force
        found = differences()
        for line in found:
            self.stdout.write(line)
        if found:
            return 1
        self.stdout.write("every due date and fit_until is as derived anew")
        return 0
