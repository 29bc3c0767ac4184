"""The due list as .xlsx, opened again: real dates, what was asked, and the same entries in the same order."""

from __future__ import annotations

import datetime as dt
import io

import openpyxl
import pytest

from inspections.due_list import due_list, summary
from inspections.due_workbook import due_workbook
from kit.stores import acting, receive
from tests.kit.views.yard import STORES, bag, in_days, yard

pytestmark = pytest.mark.django_db


def test_the_sheet_holds_the_entries_with_real_dates():
    place = yard()
    with acting(STORES) as act:
        receive(act, [bag(place.north, "NEW-1"), bag(place.north, "-12", use_by=in_days(-3))])
    as_of = place.today
    entries = due_list(as_of, within=400)
    book = openpyxl.load_workbook(io.BytesIO(due_workbook(entries, as_of, {"depot": "NY"}, "c.lead")))
    sheet = book.worksheets[1]
    heads = [cell.value for cell in sheet[1]]
    rows = [dict(zip(heads, (cell.value for cell in row), strict=True)) for row in sheet.iter_rows(min_row=2)]
    assert len(rows) == len(entries) > 5
    for row, entry in zip(rows, entries, strict=True):
        assert (row["tag"], row["check"], row["days over"]) == (entry.tag, entry.check, entry.days_over)
        assert (row["due on"].date() if row["due on"] else None) == entry.due_on
        assert row["due on"] is None or isinstance(row["due on"], dt.datetime)
    stands = {(row["tag"], row["check"]): row["stands"] for row in rows}
    assert stands["NEW-1", "hold test"] == "never done"
    assert stands["-12", "use-by"] == "overdue"
    assert stands["NY-B1", "hold test"] == "falls due"


def test_the_summary_says_what_was_asked_by_whom_and_the_counts():
    place = yard()
    entries = due_list(place.today, within=400)
    book = openpyxl.load_workbook(
        io.BytesIO(due_workbook(entries, place.today, {"within": "400 days"}, "c.lead"))
    )
    facts = {
        row[0].value: row[1].value
        for row in book.worksheets[0].iter_rows(min_row=2, max_col=2)
        if row[0].value
    }
    assert facts["as of"].date() == place.today
    assert facts["within"] == "400 days"
    assert facts["drawn up by"] == "c.lead"
    for label, count in summary(entries, place.today):
        assert facts[label] == count
