"""The shipped form of a thorough examination of a chain, against what is published about it.

Sources: Lifting Operations and Lifting Equipment Regulations 1998 (SI 1998/2307), Schedule 1, of which
paragraphs 1 to 8(c) were read in the text as made and 8(d) to 11 are from memory. Leaflet UBT 3072 of the
German accident insurance of the building trade, read: a round steel chain is laid aside when single links
are longer by more than 5 per cent, or worn by more than 10 per cent of the nominal diameter. Table 1 of
Michigan rule R 408.14923, read: the least chain size at any point of a link, in inches.
"""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from inspections.judging import FormVerdict, judge_answers, read_answers, shipped_form

DAY = date(2026, 11, 2)
FORM = shipped_form("chain set", "thorough examination")
assert FORM is not None
FIELDS = {field.name: field for field in FORM.fields}

SCHEDULE_1 = {
    "1 for whom": ["employer"],
    "2 where": ["premises"],
    "3 what, and when it was made": ["identification", "made_on"],
    "4 the last examination": ["last_examined"],
    "5 the load": ["wll_kg"],
    "6 the first examination": ["occasion", "installed_correctly", "may_stay_in_use"],
    "7 why now": ["occasion", "may_stay_in_use"],
    "8(a) the defect": ["defect", "defect_part"],
    "8(b) its repair": ["repair"],
    "8(c) when it could become a danger, and its repair": ["danger_by", "repair"],
    "8(d) the next examination": ["next_due"],
    "8(e) tests": ["tests"],
    "9 the examiner": ["examiner", "examiner_employer"],
    "10 who signs": ["signed_by"],
    "11 the date of the report": ["reported_on"],
}
SOUND = {
    "employer": "A depot, 1 Yard Lane",
    "premises": "the same",
    "identification": "restraint chain, two legs, serial 88",
    "wll_kg": "500",
    "occasion": "within 6 months",
    "wll_readable": "yes",
    "links_sound": "yes",
    "fittings_sound": "yes",
    "defect": "none",
    "may_stay_in_use": "yes",
    "next_due": "2027-05-02",
    "examiner": "A. Examiner, 2 Yard Lane, by trade",
    "signed_by": "A. Examiner, 2 Yard Lane",
    "reported_on": "2026-11-03",
}


def judged(**changed: str) -> FormVerdict:
    assert FORM is not None
    answers = read_answers(FORM, SOUND | changed, DAY)
    assert isinstance(answers, dict), answers
    return judge_answers(FORM, answers, DAY)


def missing(**changed: str) -> list[str]:
    assert FORM is not None
    found = read_answers(FORM, SOUND | changed, DAY)
    return [fault.field for fault in found] if isinstance(found, list) else []


@pytest.mark.parametrize("paragraph", SCHEDULE_1)
def test_each_paragraph_of_the_schedule_has_its_lines(paragraph: str) -> None:
    assert set(SCHEDULE_1[paragraph]) <= FIELDS.keys()


def test_a_report_of_a_sound_chain_passes() -> None:
    assert judged().verdict == "pass"


def test_what_is_only_asked_where_known_may_be_left_out() -> None:
    """Paragraphs 3 (made, where known), 4 (none before the first), 8(e) (if there was a test)."""
    assert missing() == []
    assert "made_on" not in SOUND
    assert "tests" not in SOUND


@pytest.mark.parametrize("name", [name for name in SOUND])
def test_what_every_report_must_hold_cannot_be_left_out(name: str) -> None:
    assert missing(**{name: ""}) == [name]


def test_a_defect_that_is_a_danger_fails_and_asks_for_part_and_repair() -> None:
    """Paragraph 8(a) and (b)."""
    assert missing(defect="it is a danger") == ["defect_part", "repair"]
    assert judged(defect="it is a danger", defect_part="hook, cracked", repair="renew it").verdict == "fail"


def test_a_defect_that_could_become_one_asks_by_when_as_well() -> None:
    """Paragraph 8(c): the time by which it could become a danger. That it holds the chain back is stricter."""
    told = {"defect": "it could become a danger", "defect_part": "catch, weak", "repair": "renew it"}
    assert missing(**told) == ["danger_by"]
    assert judged(**told, danger_by="2026-12-01").verdict == "doubt"


def test_the_first_examination_asks_whether_it_was_installed_correctly() -> None:
    """Paragraph 6."""
    first = FIELDS["occasion"].choices[0]
    assert missing(occasion=first) == ["installed_correctly"]
    assert judged(occasion=first, installed_correctly="no").verdict == "fail"


@pytest.mark.parametrize(
    ("now", "verdict"), [("1000", "pass"), ("1050", "pass"), ("1050.1", "fail"), ("900", "fail")]
)
def test_a_chain_over_five_per_cent_longer_is_laid_aside(now: str, verdict: str) -> None:
    """UBT 3072: more than 5 per cent. That a chain grown shorter was measured wrongly is common practice."""
    assert judged(length_new_mm="1000", length_mm=now).verdict == verdict


@pytest.mark.parametrize(("now", "verdict"), [("8.0", "pass"), ("7.2", "pass"), ("7.19", "fail")])
def test_a_link_over_ten_per_cent_thinner_is_laid_aside(now: str, verdict: str) -> None:
    """UBT 3072: more than 10 per cent of the nominal diameter."""
    assert judged(diameter_new_mm="8", diameter_mm=now).verdict == verdict


@pytest.mark.parametrize(
    ("size", "least"),
    [
        (Fraction(1, 4), Fraction(13, 64)),
        (Fraction(3, 8), Fraction(19, 64)),
        (Fraction(1, 2), Fraction(25, 64)),
        (Fraction(5, 8), Fraction(31, 64)),
        (Fraction(3, 4), Fraction(19, 32)),
        (Fraction(7, 8), Fraction(45, 64)),
        (Fraction(1), Fraction(13, 16)),
        (Fraction(9, 8), Fraction(29, 32)),
        (Fraction(5, 4), Fraction(1)),
        (Fraction(11, 8), Fraction(35, 32)),
        (Fraction(3, 2), Fraction(19, 16)),
    ],
    ids=str,
)
def test_no_link_that_another_rule_takes_from_service_passes(size: Fraction, least: Fraction) -> None:
    """Table 1 of R 408.14923 allows about 20 per cent at one point; the shipped limit is the stricter one."""
    new, now = (f"{Decimal(part.numerator) / part.denominator:f}" for part in (size, least))
    assert judged(diameter_new_mm=new, diameter_mm=now).verdict == "fail"
