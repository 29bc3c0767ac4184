"""Concessions as a spreadsheet: who asked, who decided, from when to when, why and at what risk."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils import timezone

from inspections.concession_list import ListedConcession, counts
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column("tag", width=18),
    Column("kind", width=16),
    Column("check", width=24),
    Column("depot", width=12),
    Column("stands", width=12),
    Column("due on", "date"),
    Column("conceded until", "date", 15),
    Column("times granted for the item", "integer", 14),
    Column("reason", width=44),
    Column("risk", width=44),
    Column("conditions", width=44),
    Column("asked by", width=18),
    Column("asked at", "date", 17),
    Column("decided by", width=18),
    Column("decided on", "date"),
    Column("note of the decision", width=40),
    Column("ended by", width=18),
    Column("ended on", "date"),
    Column("why it was ended", width=40),
)


def concession_workbook(rows: Sequence[ListedConcession], query: Mapping[str, Any], who: str) -> bytes:
    """The concessions as .xlsx, in the order given. `query` says in words what was asked; `who` asked it."""
    facts = {**query, "drawn up by": who, "drawn up at": timezone.localtime()}
    table = (
        (
            one.item.tag,
            one.item.kind.name,
            one.check_due.name,
            one.item.depot.code,
            row.stands,
            one.due_on,
            one.until,
            row.times,
            one.reason,
            one.risk,
            one.conditions,
            one.asked_by,
            timezone.localtime(one.asked_at),
            one.decided_by,
            one.decided_on,
            one.decision_note,
            one.ended_by,
            one.ended_on,
            one.ended_why,
        )
        for row in rows
        for one in [row.concession]
    )
    file = io.BytesIO()
    write_table_workbook(file, "Concessions", COLUMNS, table, facts, counts(rows))
    return file.getvalue()
