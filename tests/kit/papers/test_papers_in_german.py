"""Papers in German: no word of the sheets or of the code that fills them is left in English."""

from __future__ import annotations

import re

import pytest
from django.utils.translation import override

from kit.papers.sheet_words import WORDS, sheet_words
from kit.papers.typeset import SHEETS
from tests.kit.papers.examples import EVERY_PAPER, pages, reader

# What people have written in the examples stays as they wrote it.
WRITTEN = (
    "Weir Lane, junction with Mill Road",
    "two-way, two bags a hole",
    "NY-BAG-0900 falls due on 15 Nov: test it",
    "Lost pressure on test before use",
    "hiss near the valve",
    "skirt torn through, the maker does not mend it",
    "damaged on J-1042: skirt torn",
    "Finding: torn over 40 mm",
    "Action: the maker was asked",
    "verge at hole two",
    "6-month test due",
    "Tag NY-GAU-0002",
)
ENGLISH = re.compile(
    r"\b(the|of|and|is|not|by|from|this|until|with|went|out|serial|size|piece|pieces|lots?|line|needed|job|crew|tag"
    r"|signed|page|printed|revision|ledger|due|never|found|kit)\b",
    re.IGNORECASE,
)


def the_sheets() -> dict[str, str]:
    return {path.name: path.read_text() for path in SHEETS.glob("*.typ")}


def test_the_table_has_every_word_that_a_sheet_says_and_no_other() -> None:
    sheets = "".join(the_sheets().values())
    said = set(re.findall(r'(?:\bsay|named-section)\("((?:[^"\\]|\\.)*)"', sheets))
    assert said - set(WORDS) == set()
    assert [word for word in WORDS if f'"{word}"' not in sheets] == []


def test_every_word_of_the_sheets_has_german() -> None:
    with override("de"):
        german = sheet_words()
    same = {english for english, said in german.items() if english == said}
    assert same == {"Name", "QR"}
    for english, said in german.items():
        assert re.findall(r"%\(\w+\)s", english) == re.findall(r"%\(\w+\)s", said)


# Most that stands on a passport and a bench sheet is said by whoever fills them: see tests/inspections/views.
OWN_WORDS = [name for name in EVERY_PAPER if name not in {"item passport", "bench sheet"}]


@pytest.mark.parametrize("name", OWN_WORDS)
def test_a_german_paper_says_so_and_has_no_english(name: str) -> None:
    with override("de"):
        pdf = EVERY_PAPER[name]()
    assert str(reader(pdf).trailer["/Root"]["/Lang"]).startswith("de")
    printed = pages(pdf)
    for number, page in enumerate(printed, start=1):
        assert f"Seite {number} von {len(printed)}" in page
        assert re.search(r"Gedruckt Do, 12\. Nov\.? 2026 05:52 GMT · Fassung 3", page)
        for text in WRITTEN:
            page = page.replace(text, "")
        assert {found[0] for found in ENGLISH.finditer(re.sub(r"\S*-\S*", "", page))} == set(), page


def test_sizes_have_a_comma_and_banners_are_german() -> None:
    with override("de"):
        first = pages(EVERY_PAPER["load list"]())[0]
    assert "UNVOLLSTÄNDIG: es fehlen 2 Teile" in first
    assert "150–182,5" in first
    assert "165,2" in first
