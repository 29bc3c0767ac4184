"""The due list as a spreadsheet: real dates, a summary, and the question it answers written in."""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_noop as _

from inspections.due_list import DueEntry, summary
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column(_("tag"), width=18),
    Column(_("kind"), width=16, said=True),
    Column(_("check"), width=28, said=True),
    Column(_("last done"), "date"),
    Column(_("due on"), "date"),
    Column(_("days over"), "integer"),
    Column(_("conceded from"), "date", 15),
    Column(_("stands"), width=14, said=True),
    Column(_("gates issue"), width=12),
    Column(_("state"), width=14, said=True),
    Column(_("whereabouts"), width=14, said=True),
    Column(_("depot"), width=12),
    Column(_("place"), width=26),
    Column(_("next job"), width=20),
)


def due_workbook(entries: Collection[DueEntry], as_of: date, query: Mapping[str, Any], who: str) -> bytes:
    """The entries as .xlsx, in the order given. `query` says in words what was asked; `who` asked it.

    A check never done has no due date and no days over; its column "stands" says so.
    """
    facts = {
        _("as of"): as_of,
        **query,
        _("drawn up by"): who,
        _("drawn up at"): timezone.localtime(),
        _("note"): _("Overdue means due before the as-of day; an item is in date on the due day itself."),
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
    write_table_workbook(file, _("Due list"), COLUMNS, rows, facts, summary(entries, as_of), for_people=True)
    return file.getvalue()


def stands(entry: DueEntry, as_of: date) -> str:
    """How the entry stands on the day, in a word or two."""
    if entry.due_on is None:
        return _("never done")
    if entry.due_on < as_of:
        return _("overdue")
    return _("due today") if entry.due_on == as_of else _("falls due")
