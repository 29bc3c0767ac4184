"""The kit list as .xlsx, opened again: every chosen piece, every reason, real dates."""

from __future__ import annotations

import datetime as dt
import io

import openpyxl
import pytest

from kit.planning import to_json
from kit.sentences import said
from kit.stores import acting, kit_list_of, quarantine
from kit.workbooks.kit_list import kit_list_workbook
from tests.kit.views.yard import STORES, yard

pytestmark = pytest.mark.django_db


def test_the_sheet_says_what_the_kit_list_says():
    place = yard(bags=3)
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B9"), "=1+1")
    kit = kit_list_of(place.job)
    book = openpyxl.load_workbook(io.BytesIO(kit_list_workbook(kit)))
    rows = [tuple(cell.value for cell in row) for row in book.worksheets[1].iter_rows(min_row=2)]
    told = to_json(kit)
    chosen = [(row[1], row[3], row[4]) for row in rows if row[0] == "chosen"]
    assert chosen == [
        *(("bags", tag, 1) for tag in ("NY-B1", "NY-B2", "NY-B3")),
        *(("bases", tag, 1) for tag in ("NY-S1", "NY-S2")),
        ("seals", "LOT-7", 6),
    ]
    assert [(row[1], row[4], row[7]) for row in rows if row[0] == "short"] == [
        ("bags", 1, told["lines"][0]["remedy"])
    ]
    reasons = [
        (row[1], row[3], row[5], row[6].date().isoformat() if row[6] else None, row[7])
        for row in rows
        if row[0] == "refused"
    ]
    assert reasons == [
        (refused["line"], refused["tag"], reason["code"], reason["date"], said(reason["text"]))
        for refused in told["refused"]
        for reason in refused["reasons"]
    ]
    assert {code for _, tag, code, _, _ in reasons if tag == "NY-B9"} == {
        "quarantined",
        "wrong-bore",
        "use-by-before-return",
    }
    use_by = next(row[6] for row in rows if row[5] == "use-by-before-return")
    assert isinstance(use_by, dt.datetime)


def test_the_summary_names_the_question():
    place = yard()
    kit = kit_list_of(place.job)
    book = openpyxl.load_workbook(io.BytesIO(kit_list_workbook(kit)))
    facts = {
        row[0].value: row[1].value
        for row in book.worksheets[0].iter_rows(min_row=2, max_col=2)
        if row[0].value
    }
    assert facts["job"] == "J/26-104"
    assert facts["as of"].date() == place.today
    assert facts["stands"] == "complete"
    assert facts["pieces chosen"] == 6
    assert facts["also fit"] == 1
