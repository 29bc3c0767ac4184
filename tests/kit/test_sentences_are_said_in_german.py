"""Sentences put together in English are said in German on a German page, with what stands in them."""

from __future__ import annotations

import polib
import pytest
from django.utils.safestring import mark_safe
from django.utils.translation import override

from kit.sentences import _PLACE, said
from tests.sentences import PO, patterns

pytestmark = pytest.mark.once


@pytest.mark.parametrize(
    ("english", "german"),
    [
        (
            "Its visual falls due on 2026-11-04, before the return on 2026-11-09; do it before loading.",
            "Die Prüfung Sichtprüfung wird am 4. Nov 2026 fällig, vor: der Rückgabe am 9. Nov 2026; vor dem "
            "Laden ausführen.",
        ),
        (
            "Its mark is M7 and the job's bases are marked M3; take one of that mark. "
            "It is overdue from QB-9 since 2026-11-04; ask that crew for it.",
            "Seine Bauform ist M7, die Unterteile des Auftrags haben M3; eines dieser Bauform nehmen. "
            "Es ist seit 4. Nov 2026 von QB-9 überfällig; bei dieser Kolonne nachfragen.",
        ),
        ("Something that nobody has put into German.", "Something that nobody has put into German."),
    ],
)
def test_a_sentence_is_said_in_german(english: str, german: str) -> None:
    with override("de"):
        assert said(english) == german
    with override("en"):
        assert said(english) == english


def test_markup_and_what_is_no_text_are_left_alone() -> None:
    with override("de"):
        marked = mark_safe("Proven: no other plan is better.")
        assert said(marked) is marked
        assert said(7) == 7
        assert said(None) is None


def test_the_catalogue_knows_every_pattern_of_the_code_and_no_other() -> None:
    catalogue = polib.pofile(str(PO))
    assert {entry.msgid for entry in catalogue} == patterns()
    assert (PO.with_suffix(".mo")).read_bytes() == catalogue.to_binary()


def test_german_puts_in_just_what_the_pattern_has() -> None:
    wrong = [
        entry.msgid
        for entry in polib.pofile(str(PO))
        if entry.msgstr and not set(_PLACE.findall(entry.msgstr)) <= set(_PLACE.findall(entry.msgid))
    ]
    assert wrong == []
