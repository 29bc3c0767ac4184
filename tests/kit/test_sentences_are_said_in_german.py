"""Sentences put together in English are said in German on a German page, with what stands in them."""

from __future__ import annotations

import ast
import re

import polib
import pytest
from django.utils.safestring import mark_safe
from django.utils.translation import override

from kit.sentences import _PLACE, said
from tests.sentences import PO, _said_in, patterns

pytestmark = pytest.mark.once

ONE_IN_BOTH = {"ppm", "{1} × {2}"}  # a unit, and nothing but a sign


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
        (
            "B-104 is quarantined: there is nothing to test.",
            "B-104 ist gesperrt: Es gibt nichts zu prüfen.",
        ),
        (
            "B-104 is Planner: nothing can be reserved or issued for it. The account of B-7 is closed already.",
            "B-104 ist Einsatzplanung: Dafür kann nichts reserviert oder ausgegeben werden. "
            "Das Konto von B-7 ist schon geschlossen.",
        ),
    ],
)
def test_a_sentence_is_said_in_german(english: str, german: str) -> None:
    with override("de"):
        assert said(english) == german
    with override("en"):
        assert _days_left_out(said(english)) == _days_left_out(english)


def _days_left_out(text: str) -> str:
    return re.sub(r"\d{4}-\d{2}-\d{2}|\d{1,2} [A-Z][a-z]{2} \d{4}", "", text)


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


def test_every_pattern_has_german() -> None:
    """As for the texts of pages: a new sentence comes with its German (`python -m tests.sentences FILE.json`)."""
    assert [entry.msgid for entry in polib.pofile(str(PO)) if not entry.msgstr] == []


def test_german_puts_in_just_what_the_pattern_has() -> None:
    wrong = [
        entry.msgid
        for entry in polib.pofile(str(PO))
        if sorted(_PLACE.findall(entry.msgstr)) != sorted(_PLACE.findall(entry.msgid))
    ]
    assert wrong == []


def test_no_german_is_the_english() -> None:
    same = {entry.msgid for entry in polib.pofile(str(PO)) if entry.msgstr == entry.msgid}
    assert same <= ONE_IN_BOTH


def _filled(text: str) -> str:
    return _PLACE.sub(lambda place: f"QX{place[1]}", text)


def test_no_pattern_is_swallowed_by_one_that_takes_more() -> None:
    with override("de"):
        wrong = {
            said(_filled(entry.msgid)): _filled(entry.msgstr)
            for entry in polib.pofile(str(PO))
            if said(_filled(entry.msgid)) != _filled(entry.msgstr)
        }
    assert wrong == {}


def test_of_two_sentences_none_is_swallowed_by_the_other() -> None:
    """ "{1} is {2} already." would take all that stands between an "is" and an "already"."""
    whole = [
        entry
        for entry in polib.pofile(str(PO))
        if entry.msgid.endswith(".") and (entry.msgid[0].isupper() or entry.msgid[0] == "{")
    ]
    wrong = []
    with override("de"):
        for step in (1, 101):
            for place, first in enumerate(whole):
                second = whole[(place + step) % len(whole)]
                both = said(_filled(f"{first.msgid} {second.msgid}"))
                if both != _filled(f"{first.msgstr} {second.msgstr}"):
                    wrong.append(both)
    assert wrong == []


def test_what_somebody_wrote_is_not_taken_for_a_pattern_of_of_and_on() -> None:
    """ "{1} of {2} on {3}" names a record, and a note in English may have the same small words."""
    with override("de"):
        assert said("Loss of pressure on the gauge") == "Loss of pressure on the gauge"
        assert said("visual of B-104 on 2026-11-04") == "Sichtprüfung von B-104 am 4. Nov 2026"


def test_names_that_are_to_be_typed_stay_and_lists_of_known_words_do_not() -> None:
    """What stands in quotation marks in the German is a sheet, a heading or an answer as the register reads it."""
    with override("de"):
        assert said("Write one of pass, fail. Perhaps pass is meant.") == (
            "Eines davon angeben: „pass, fail“. Vielleicht ist „pass“ gemeint."
        )
        assert (
            said("There is no kind bagg. Did you mean bag?")
            == "Eine Art „bagg“ gibt es nicht. Ist „bag“ gemeint?"
        )
        assert said("short of 2 × bags, 1 × pump") == "es fehlen 2 × Absperrblasen, 1 × Pumpe"


def test_of_two_patterns_the_one_that_knows_more_of_the_text_is_taken() -> None:
    with override("de"):
        assert said("B-1 is on site: take it back before it is moved from NY to MB.") == (
            "B-1 ist auf der Baustelle: zurücknehmen; erst danach von NY nach MB verlegen."
        )
        assert said(
            "It is in quarantine (visual failed on 2026-11-27: crack); a release, by another person than set it aside, "
            "would bring it back."
        ) == (
            "Es ist gesperrt (Sichtprüfung nicht bestanden am 27. Nov 2026: crack); eine Freigabe durch eine andere "
            "Person als die, die es gesperrt hat, brächte es zurück."
        )
        assert said(
            "With the gauge's error taken off, 0.3 bar at the start and 0.2 bar at the end: dropped 0.1 bar in 5 "
            "minutes, against 0.01 bar as printed: fails."
        ) == (
            "Ohne die Abweichung des Manometers 0,3 bar am Anfang und 0,2 bar am Ende: Druckabfall 0,1 bar in 5 "
            "Minuten, gegenüber 0,01 bar laut Angabe: nicht bestanden."
        )
        assert said("Proposed in its place: B-104") == "An seiner Stelle vorgeschlagen: B-104"


def test_what_a_way_out_asks_for_is_said_clause_by_clause() -> None:
    text = (
        "Load J-2 2 days later, on 2026-11-12, which frees B-1; inspect G-1 (calibration) by 2026-11-28 and "
        "bring B-7 from Mill Bank, leaving by 2026-11-10; or load on 2026-12-01 or later."
    )
    with override("de"):
        german = said(text)
    assert not re.search(r"\b(and|or|by|from|inspect|bring|load|leaving|calibration)\b", german), german
    assert "G-1 (Kalibrierung) bis 28. Nov 2026 prüfen und " in german


@pytest.mark.parametrize(
    ("english", "german"),
    [
        ("have G-1, on its way, here by 2026-11-28", "G-1, unterwegs, bis 28. Nov 2026 hier haben"),
        (
            "buy or borrow 2 x bag or gauge covering 160 to 170 mm bore on the near side and 180 mm outside, "
            "fit through 2026-12-08 and 1 x gauge, fit through 2026-12-08",
            "kaufen oder leihen: 2 x Absperrblase oder Manometer für 160 bis 170 mm Innendurchmesser auf der nahen "
            "Seite und 180 mm Außendurchmesser, einsatzfähig bis einschließlich 8. Dez 2026 und 1 x Manometer, "
            "einsatzfähig bis einschließlich 8. Dez 2026",
        ),
        ("make 3 more changes", "3 weitere Änderungen vornehmen"),
        ("make 1 more change", "1 weitere Änderung vornehmen"),
    ],
)
def test_ways_out_have_no_english_between_their_values(english: str, german: str) -> None:
    with override("de"):
        assert said(english) == german


def test_sums_and_formats_of_the_code_are_patterns() -> None:
    """What is put together by `+` or filled in by `format` is gathered as it comes out."""
    tree = ast.parse(
        """note = f"Row {n} of" + name + (" at last" if last else "")\nask = "inspect {pieces} now"\n"""
    )
    assert {"Row {1} of{2}{3}", "inspect {1} now"} <= {*_said_in(tree)}


@pytest.mark.parametrize(
    ("kept", "shown"),
    [
        ("M-1 may not go out: use-by 2026-11-22", "M-1 may not go out: use-by 22 Nov 2026"),
        (
            "hold test and visual failed on 2026-11-27: leak at the seam",
            "hold test and visual failed on 27 Nov 2026: leak at the seam",
        ),
        # How a day may be typed, and what somebody wrote in words of their own.
        (
            "Write a day as 31/03/2027 or 2027-03-31, a month as 03/2027.",
            "Write a day as 31/03/2027 or 2027-03-31, a month as 03/2027.",
        ),
        ("I saw it leak on 2026-11-02 myself", "I saw it leak on 2026-11-02 myself"),
    ],
)
def test_in_english_a_sentence_of_the_program_writes_its_days_as_the_page_does(kept: str, shown: str) -> None:
    with override("en-gb"):
        assert said(kept) == shown
    with override("de"):
        in_german = said(kept)
    with override("en-gb"):
        assert said(kept) == shown, "the German said meanwhile is not what English gives"
    with override("de"):
        assert said(kept) == in_german
