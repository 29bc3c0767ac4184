"""What is overdue, never done, or falls due soon: as text, JSON or a spreadsheet."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from inspections.due_list import DueEntry, due_list
from inspections.due_workbook import due_workbook
from kit.management.base import TradeCommand, days
from kit.models import Depot
from kit.workbooks.sheets import nearest_name


class Command(TradeCommand):
    help = "Inspections that are overdue or were never done; with --within also those that fall due."

    def add_arguments(self, parser: CommandParser) -> None:
        self.add_as_of(parser)
        parser.add_argument(
            "--within", type=days, default=None, metavar="DAYS", help="also what falls due in DAYS days"
        )
        parser.add_argument("--depot", metavar="CODE", help="only items of this depot")
        self.add_output(parser, "text", "json", "xlsx")

    def run(self, **options: Any) -> int:
        as_of = self.as_of(options)
        depots = None
        if options["depot"] is not None:
            depots = [self._depot(options["depot"]).pk]
        entries = due_list(as_of, options["within"], depots)
        match options["format"]:
            case "json":
                self.emit_json(
                    {"as_of": as_of.isoformat(), "due": [e.as_dict() for e in entries]}, options["output"]
                )
            case "xlsx":
                query = {
                    "within": "overdue or never done"
                    if options["within"] is None
                    else f"{options['within']} days",
                    "depot": options["depot"] or "all depots",
                }
                self.emit(due_workbook(entries, as_of, query, self.who().actor), options["output"])
            case _:
                self.emit(as_text(entries, as_of.isoformat()), options["output"])
        return 0

    def _depot(self, code: str) -> Depot:
        depot = Depot.objects.filter(code=code).first()
        if depot is None:
            near = nearest_name(code, Depot.objects.values_list("code", flat=True))
            raise self.refuse(
                f"There is no depot {code} in the register." + (f" Did you mean {near}?" if near else "")
            )
        return depot


def as_text(entries: list[DueEntry], as_of: str) -> str:
    """One line an entry, for a terminal."""
    lines = [f"Due as of {as_of}: {len(entries)}"]
    for e in entries:
        when = "never done" if e.due_on is None else f"due {e.due_on}"
        over = "" if not e.days_over or e.days_over < 0 else f", {e.days_over} days over"
        job = f", next on {e.job}" if e.job else ""
        lines.append(f"  {e.tag:<20} {e.kind:<16} {e.check:<28} {when}{over} ({e.state}, {e.depot}{job})")
    return "\n".join(lines) + "\n"
