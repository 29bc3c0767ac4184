"""Concessions as a spreadsheet: who asked, who decided, from when to when, why and at what risk."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_noop as _

from inspections.concession_list import ListedConcession, counts
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column(_("tag"), width=18),
    Column(_("kind"), width=16, said=True),
    Column(_("check"), width=24, said=True),
    Column(_("depot"), width=12),
    Column(_("stands"), width=12, said=True),
    Column(_("due on"), "date"),
    Column(_("conceded until"), "date", 15),
    Column(_("times granted for the item"), "integer", 14),
    Column(_("reason"), width=44),
    Column(_("risk"), width=44),
    Column(_("conditions"), width=44),
    Column(_("asked by"), width=18),
    Column(_("asked at"), "date", 17),
    Column(_("decided by"), width=18),
    Column(_("decided on"), "date"),
    Column(_("note of the decision"), width=40),
    Column(_("ended by"), width=18),
    Column(_("ended on"), "date"),
    Column(_("why it was ended"), width=40),
)


def concession_workbook(rows: Sequence[ListedConcession], query: Mapping[str, Any], who: str) -> bytes:
    """The concessions as .xlsx, in the order given. `query` says in words what was asked; `who` asked it."""
    facts = {**query, _("drawn up by"): who, _("drawn up at"): timezone.localtime()}
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
    write_table_workbook(file, _("Concessions"), COLUMNS, table, facts, counts(rows), for_people=True)
    return file.getvalue()
