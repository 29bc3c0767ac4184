"""Load a depot's register from a workbook: all or nothing, every bad cell named."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management import call_command
from django.core.management.base import CommandParser
from django.db import connection

from kit.management.base import TradeCommand
from kit.workbooks.faults import RegisterFileError
from kit.workbooks.loading import LoadReport, load_register


class Command(TradeCommand):
    help = "Load a register from FILE (.xlsx, .ods or .csv), all or nothing; exit 2 and every bad cell named."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE")
        parser.add_argument(
            "--dry-run", action="store_true", help="say what would be loaded, and write nothing"
        )
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def run(self, **options: Any) -> int:
        if not connection.introspection.table_names():
            # A brand-new database: there is nothing to lose, and a depot that starts has no use for a refusal.
            call_command("migrate", verbosity=0)
        try:
            report = load_register(
                options["file"], self.who(), dry_run=options["dry_run"], progress=self._progress
            )
        except RegisterFileError as error:
            if options["format"] == "json":
                report = LoadReport()
                fault = {"sheet": None, "row": None, "column": None, "value": None, "why": str(error)}
                self.emit_json({**report.as_dict(), "faults": [fault]})
            raise self.refuse(str(error)) from error
        finally:
            if sys.stderr.isatty():
                self.stderr.write("\r" + " " * 60 + "\r", ending="")
        if options["format"] == "json":
            self.emit_json(report.as_dict())
        elif report.warnings:
            self.say(f"Warnings:\n{report.warnings.text_report()}")
        outcome = outcome_of(report, options["file"], options["dry_run"])
        if report.faults:
            self.say(outcome)
            if options["format"] == "text":
                self.say(report.faults.text_report())
            return 2
        if options["format"] == "text":
            self.emit(outcome, None)
        return 0

    def _progress(self, done: int, total: int, text: str) -> None:
        if sys.stderr.isatty():
            self.stderr.write(f"\r{done:,} of {total:,} rows, {text:<30}", ending="")


def outcome_of(report: LoadReport, name: str, dry_run: bool) -> str:
    """What became of the file, in one line."""
    if report.faults:
        count = f"{len(report.faults):,} fault{'s' if len(report.faults) > 1 else ''}"
        return f"{name} was not loaded: {count}. Nothing has changed."
    did = "would load" if dry_run else "loaded"
    return (
        f"{name} {did}: {report.count('new')} new, {report.count('changed')} changed, "
        f"{report.count('unchanged')} unchanged"
    )


def as_text(report: LoadReport, name: str, dry_run: bool) -> str:
    """The whole report for a person."""
    lines = []
    if report.warnings:
        lines += ["Warnings:", report.warnings.text_report()]
    lines.append(outcome_of(report, name, dry_run))
    if report.faults:
        lines.append(report.faults.text_report())
    return "\n".join(lines)
