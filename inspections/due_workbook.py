"""The due list as a spreadsheet: real dates, a summary, and the question it answers written in."""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from django.utils import timezone

from inspections.due_list import DueEntry, summary
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column("tag", width=18),
    Column("kind", width=16),
    Column("check", width=28),
    Column("last done", "date"),
    Column("due on", "date"),
    Column("days over", "integer"),
    Column("conceded from", "date", 15),
    Column("stands", width=14),
    Column("gates issue", width=12),
    Column("state", width=14),
    Column("whereabouts", width=14),
    Column("depot", width=12),
    Column("place", width=26),
    Column("next job", width=20),
)


def due_workbook(entries: Collection[DueEntry], as_of: date, query: Mapping[str, Any], who: str) -> bytes:
    """The entries as .xlsx, in the order given. `query` says in words what was asked; `who` asked it.

    A check never done has no due date and no days over; its column "stands" says so.
    """
    facts = {
        "as of": as_of,
        **query,
        "drawn up by": who,
        "drawn up at": timezone.localtime(),
        "note": "Overdue means due before the as-of day; an item is in date on the due day itself.",
    }
    rows = (
        (
            entry.tag,
            entry.kind,
            entry.check,
            entry.last_done,
            entry.due_on,
            entry.days_over,
            entry.conceded_from,
            stands(entry, as_of),
            entry.gates,
            entry.state,
            entry.custody,
            entry.depot,
            entry.place,
            entry.job or "",
        )
        for entry in entries
    )
    file = io.BytesIO()
    write_table_workbook(file, "Due list", COLUMNS, rows, facts, summary(entries, as_of))
    return file.getvalue()


def stands(entry: DueEntry, as_of: date) -> str:
    """How the entry stands on the day, in a word or two."""
    if entry.due_on is None:
        return "never done"
    if entry.due_on < as_of:
        return "overdue"
    return "due today" if entry.due_on == as_of else "falls due"
