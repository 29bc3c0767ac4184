"""The sheet Readings replaces what is read at the checks it names; every fault is named at its cell."""

from __future__ import annotations

from pathlib import Path

import pytest

from inspections.judging import Form, shipped_form
from inspections.models import EVER, Check, CheckVersion
from inspections.reading_rows import rows_of
from kit.stores import prove_ledger
from kit.workbooks.sheets import SHEETS
from tests.kit.workbooks.depot_book import Book, counts, depot_book, dump, loaded

pytestmark = pytest.mark.django_db

BASE = {"kind": "base", "check": "inspection"}
WEAR = {**BASE, "reading": "wear_mm", "label": "Wear", "type": "number", "unit": "mm", "most": 0.5}
FACE = {
    **BASE,
    "reading": "Face of the saddle",
    "type": "Choice",
    "choices": "sound; scored; cracked",
    "wanted": "sound",
    "doubtful": "scored",
}


def readings_book(*rows: dict[str, object]) -> Book:
    """A workbook with this sheet alone, on the register that `depot_book` made."""
    book = Book(headings={sheet.name: sheet.column_names for sheet in SHEETS})
    for row in rows:
        book.add("Readings", **row)
    return book


@pytest.fixture
def register(tmp_path: Path) -> Path:
    assert loaded(depot_book().xlsx(tmp_path / "first.xlsx")).loaded
    return tmp_path / "readings.xlsx"


def the_check(kind: str = "base", name: str = "inspection") -> Check:
    return Check.objects.get(kind__name=kind, name=name)


def test_rows_become_the_form_of_the_check_and_twice_changes_nothing(register):
    rule, number = the_check().interval, the_check().version
    path = readings_book(WEAR, {**FACE, "needed": "no"}).xlsx(register)
    report = loaded(path)
    assert report.loaded, report.faults.text_report()
    assert the_check().form == {
        "fields": [
            {"name": "wear_mm", "label": "Wear", "kind": "number", "unit": "mm", "most": "0.5"},
            {
                "name": "face_of_the_saddle",
                "label": "Face of the saddle",
                "kind": "choice",
                "choices": ["sound", "scored", "cracked"],
                "wanted": ["sound"],
                "doubtful": ["scored"],
                "needed": False,
            },
        ]
    }
    assert (the_check().interval, the_check().version) == (rule, number + 1)
    before = dump()
    assert counts(loaded(path)) == (0, 0, 2)
    assert dump() == before
    assert prove_ledger().fault is None


def test_a_check_of_the_same_file_takes_its_form_along_as_its_first_rule(tmp_path):
    book = readings_book({**WEAR, "check": "thread"})
    book.add("Checks", kind="base", check="thread", interval="P1Y")
    path = book.xlsx(tmp_path / "both.xlsx")
    assert loaded(path).loaded
    [version] = CheckVersion.objects.filter(of=the_check("base", "thread"))
    assert (version.in_force_from, len(version.form["fields"])) == (EVER, 1)
    before = dump()
    assert counts(loaded(path))[:2] == (0, 0)
    assert dump() == before


def test_every_shipped_form_comes_through_a_sheet_unchanged(register):
    form = shipped_form("gas detector", "calibration")
    assert form is not None
    headings = {"name": "reading", "kind": "type"}
    rows = [
        {
            **BASE,
            **{headings.get(name, name): text for name, text in row.items() if name != "needed"},
            "needed": "yes" if row["needed"] else "no",
            "not_before_test": row["not_before_test"] or "no",
            "not_after_test": row["not_after_test"] or "no",
        }
        for row in rows_of(form)
    ]
    assert loaded(readings_book(*rows).xlsx(register)).loaded
    assert Form.from_json(the_check().form).fields == form.fields


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ({**WEAR, "check": "inspektion"}, "check", "Did you mean inspection?"),
        ({**WEAR, "kind": "bas"}, "kind", "base"),
        ({**WEAR, "type": "figure"}, "type", "Write one of number"),
        ({**WEAR, "type": None}, "type", "cell is empty"),
        ({**WEAR, "reading": None}, "reading", "cell is empty"),
        ({**WEAR, "reading": "Wear!"}, "reading", "cannot name a field"),
        ({**WEAR, "most": "little"}, "most", "is not a number"),
        ({**WEAR, "least": 1}, "least", "is above the most"),
        ({**WEAR, "guard": -1}, "guard", "write 0 or more"),
        ({**WEAR, "needed": "perhaps"}, "needed", "Write yes or no"),
        ({**FACE, "wanted": "whole"}, "wanted", "which it does not take"),
        ({**FACE, "choices": "sound"}, "choices", "fewer than two choices"),
        ({**FACE, "unit": "mm"}, "unit", "means nothing for the kind choice"),
        ({**FACE, "needed_if": "wear = yes"}, "needed_if", "stands before it"),
    ],
)
def test_what_is_no_reading_is_a_fault_at_its_cell_and_nothing_is_loaded(register, row, column, words):
    before = dump()
    report = loaded(readings_book({**WEAR, "reading": "first", "label": "First"}, row).xlsx(register))
    assert not report.loaded
    [fault] = list(report.faults)
    assert (fault.sheet, fault.row, fault.column) == ("Readings", 3, column)
    assert words in fault.why
    assert dump() == before


def test_one_name_twice_is_a_fault_of_the_second(register):
    report = loaded(readings_book(WEAR, {**WEAR, "label": "Wear again"}).xlsx(register))
    [fault] = list(report.faults)
    assert (fault.row, fault.column) == (3, "reading")


def test_a_check_that_is_judged_by_its_own_readings_has_no_form(tmp_path):
    book = readings_book({**WEAR, "kind": "bag", "check": "hold test"})
    book.add(
        "Checks", kind="bag", check="hold test", interval="P6M", method="hold test", unit="bar", max_drop=0.01
    )
    [fault] = list(loaded(book.xlsx(tmp_path / "hold.xlsx")).faults)
    assert (fault.column, "judged by its own readings" in fault.why) == ("check", True)
