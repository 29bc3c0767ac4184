"""Spreadsheets asked for from a German page: headings, summary and what the program says in the rows."""

from __future__ import annotations

import io
import re

import openpyxl
import pytest
from django.urls import reverse

from kit.stores import quarantine
from tests.kit.views.holm import Yard

# What language a text is in does not hang on the engine.
pytestmark = pytest.mark.once

GERMAN = {"Accept-Language": "de"}
ENGLISH = re.compile(
    r"(?i)\b(the|of|and|is|not|on|by|kind|check|overdue|never|note|items?(?!-)|short|refused|drawn|cases?|reason)\b",
    re.IGNORECASE,
)
WRITTEN = {"bent", "never-checked"}  # the second is the code of a reason, the same in every language


def texts_of(content: bytes) -> dict[str, list[str]]:
    """The texts of each sheet."""
    book = openpyxl.load_workbook(io.BytesIO(content))
    return {
        sheet.title: [
            str(cell) for row in sheet.iter_rows(values_only=True) for cell in row if isinstance(cell, str)
        ]
        for sheet in book
    }


@pytest.mark.parametrize(
    ("who", "name", "args", "title", "heading"),
    [
        ("lee", "due_workbook", [], "Fälligkeitsliste", "zuletzt ausgeführt"),
        ("lee", "case_workbook", [], "Sperrvorgänge", "Charge"),
        ("lee", "concession_workbook", [], "Sonderfreigaben", "genehmigt bis"),
        ("pat", "kit_list_workbook", ["J-1"], "Geräteliste J-1", "Kennung oder Los"),
    ],
)
def test_a_spreadsheet_has_no_english(yard: Yard, who, name, args, title, heading):
    yard.receive("G-1", passed=False)
    yard.do(quarantine, yard.receive("G-3"), "bent")
    yard.plan("J-1", yard.arrangement(), load_in=2)
    answer = yard.client(who).get(reverse(name, args=args), headers=GERMAN)
    assert answer["Content-Type"].endswith("sheet"), answer.content[:200]
    sheets = texts_of(answer.content)
    assert list(sheets) == ["Zusammenfassung", title]
    assert heading in sheets[title]
    english = {
        text for texts in sheets.values() for text in texts if ENGLISH.search(text) and text not in WRITTEN
    }
    assert english == set()


def test_the_register_can_be_loaded_again_and_keeps_its_headings(yard: Yard):
    yard.receive("G-1")
    content = b"".join(yard.client("lee").get(reverse("register_export"), headers=GERMAN).streaming_content)
    sheets = texts_of(content)
    assert list(sheets) == ["Zusammenfassung", "Items"]
    assert sheets["Items"][:6] == ["tag", "kind", "maker", "serial", "batch", "bore_min_mm"]
    assert "Eingegrenzt auf" in sheets["Zusammenfassung"]
