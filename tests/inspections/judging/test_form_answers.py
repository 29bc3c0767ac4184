"""What is typed into a form is read in one meaning only, or every fault is told in a sentence."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.judging import Answer, Field, Form, Number, answers_as_texts, read_answers
from tests.counts import cases

DAY = date(2026, 11, 2)
FORM = Form(
    (
        Field("drop", "Drop", "number", unit="mbar", most=Decimal(2)),
        Field("clean", "Clean", "yes-no", wanted=("yes",)),
        Field("seals", "Seals", "choice", choices=("sound", "worn out", "torn"), wanted=("sound",)),
        Field("gas", "Test gas", "date", not_before_test=True),
        Field("made", "Made on", "date", not_after_test=True, needed=False),
        Field("lot", "Lot", "text"),
        Field("what", "What is torn", "text", needed_if=("seals", ("torn",))),
        Field("old", "Length when new", "number", unit="mm", needed=False),
        Field("new", "Length now", "number", unit="mm", needed=False),
        Field("stretch", "Stretch", "ratio", most=Decimal(5), measured="new", against="old", needed=False),
    )
)
GOOD = {"drop": "0.20", "clean": "yes", "seals": "sound", "gas": "2026-11-02", "lot": "A 7"}


def read(**changed: str) -> Mapping[str, Answer]:
    answers = read_answers(FORM, GOOD | changed, DAY)
    assert isinstance(answers, dict), answers
    return answers


def faults(**changed: str) -> dict[str, str]:
    found = read_answers(FORM, GOOD | changed, DAY)
    assert isinstance(found, list), found
    assert len({fault.field for fault in found}) == len(found)
    assert all(fault.sentence[-1] in ".?" for fault in found)
    return {fault.field: fault.sentence for fault in found}


def test_each_kind_is_read_as_what_it_is() -> None:
    assert read() == {
        "drop": Number(Decimal("0.20"), "mbar"),
        "clean": "yes",
        "seals": "sound",
        "gas": DAY,
        "lot": "A 7",
    }


def test_a_number_stays_as_it_was_written() -> None:
    drop = read(drop="0.20")["drop"]
    assert isinstance(drop, Number)
    assert (str(drop.value), drop.unit) == ("0.20", "mbar")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12", "12"),
        ("0,5", "0.5"),
        ("12,50", "12.50"),
        ("1234,5", "1234.5"),
        ("0,125", "0.125"),
        ("1.234", "1.234"),
        ("+3", "3"),
        ("-0.1", "-0.1"),
        ("\u22120.1", "-0.1"),
        ("1.5 mbar", "1.5"),
        ("1.5mBar", "1.5"),
        ("  7 ", "7"),
        ("１２", "12"),
    ],
)
def test_a_number_is_read_with_point_comma_or_unit(text: str, value: str) -> None:
    drop = read(drop=text)["drop"]
    assert isinstance(drop, Number)
    assert str(drop.value) == value


@pytest.mark.parametrize(
    "text",
    ["1,234", "12,345", "999,999"],
)
def test_a_comma_that_may_part_thousands_is_asked_back(text: str) -> None:
    assert "Write what is meant." in faults(drop=text)["drop"]


@pytest.mark.parametrize(
    "text",
    [
        "many",
        "1.2.3",
        "1,2,3",
        "1.234,5",
        "1,234.5",
        "1 234",
        ".5",
        "5.",
        "1e3",
        "0x10",
        "NaN",
        "inf",
        "--1",
        "1" * 13,
        "0." + "1" * 13,
        "1/2",
        "2 bar",
        "٣",
        "<2",
    ],
)
def test_what_is_no_number_is_told_and_what_to_write(text: str) -> None:
    assert "write a number of mbar, such as 12.5" in faults(drop=text)["drop"]


@pytest.mark.parametrize(
    ("text", "answer"), [("Y", "yes"), ("TRUE", "yes"), ("ja", "yes"), ("0", "no"), ("No", "no")]
)
def test_yes_and_no_are_read_as_registers_write_them(text: str, answer: str) -> None:
    assert read(clean=text)["clean"] == answer


def test_a_choice_is_read_whatever_its_case_spaces_and_dashes() -> None:
    assert read(seals="Worn-Out")["seals"] == "worn out"


@pytest.mark.parametrize(
    ("text", "day"),
    [("02/11/2026", date(2026, 11, 2)), ("2027-02-28", date(2027, 2, 28)), ("29.02.2028", date(2028, 2, 29))],
)
def test_dates_are_day_first_or_iso(text: str, day: date) -> None:
    assert read(gas=text)["gas"] == day


@pytest.mark.parametrize(
    ("field", "text", "why"),
    [
        ("drop", "", "Drop is not answered; write a number of mbar"),
        ("drop", "   ", "Drop is not answered"),
        ("clean", "", "Clean is not answered; write yes or no."),
        ("clean", "perhaps", "write yes or no."),
        ("seals", "fine", "write one of sound, worn out, torn."),
        ("gas", "", "Test gas is not answered; write a day as"),
        ("gas", "31/02/2027", "Test gas:"),
        ("gas", "03/2027", "names a whole month"),
        ("gas", "soon", "Test gas:"),
        ("made", "2026-11-03", "after the check on 2026-11-02"),
        ("lot", "x" * 501, "shorten it"),
        ("lot", "a\u202eb", "nobody can see"),
        ("lot", "a\x00b", "nobody can see"),
        ("dorp", "1", "'dorp' is not asked for"),
        ("stretch", "1", "'stretch' is not asked for"),
    ],
)
def test_a_bad_answer_is_told_in_a_sentence(field: str, text: str, why: str) -> None:
    assert list(told := faults(**{field: text})) == [field]
    assert why in told[field]


def test_every_fault_is_told_at_once() -> None:
    told = faults(drop="many", clean="", seals="odd", gas="never", lot="")
    assert list(told) == ["drop", "clean", "seals", "gas", "lot"]


def test_a_field_is_needed_if_another_is_answered_so() -> None:
    assert list(faults(seals="torn")) == ["what"]
    assert read(seals="torn", what="the lip")["what"] == "the lip"
    assert "what" not in read(seals="worn out")


@pytest.mark.parametrize(
    ("changed", "field", "why"),
    [
        ({"old": "1000"}, "new", "Stretch is worked out from it"),
        ({"new": "1000"}, "old", "Stretch is worked out from it"),
        ({"old": "0", "new": "1000"}, "old", "write a number above 0"),
        ({"old": "-5", "new": "1000"}, "old", "write a number above 0"),
        ({"old": "long", "new": "1000"}, "old", "write a number of mm"),
    ],
)
def test_a_ratio_needs_both_numbers_or_neither(changed: dict[str, str], field: str, why: str) -> None:
    assert list(told := faults(**changed)) == [field]
    assert why in told[field]


@settings(max_examples=cases(), deadline=None)
@given(
    st.decimals(-10_000, 10_000, places=3),
    st.sampled_from(["yes", "no"]),
    st.sampled_from(["sound", "worn out"]),
    st.dates(date(1950, 1, 1), date(2150, 1, 1)),
    st.text(st.characters(categories=["L", "N", "P"]), min_size=1, max_size=60),
)
def test_answers_kept_as_texts_are_read_back_as_they_were(
    drop: Decimal, clean: str, seals: str, gas: date, lot: str
) -> None:
    texts = GOOD | {
        "drop": f"{drop:f}",
        "clean": clean,
        "seals": seals,
        "gas": gas.isoformat(),
        "lot": lot,
    }
    answers = read_answers(FORM, texts, DAY)
    assert isinstance(answers, dict)
    kept = answers_as_texts(answers)
    assert read_answers(FORM, kept, DAY) == answers
    assert kept["drop"] == f"{drop:f}"


@settings(max_examples=cases(), deadline=None)
@given(st.dictionaries(st.sampled_from([*GOOD, "made", "what", "old", "new", "odd"]), st.text(max_size=12)))
def test_whatever_is_typed_gives_answers_or_sentences(texts: dict[str, str]) -> None:
    found = read_answers(FORM, texts, DAY)
    if isinstance(found, list):
        assert found
        assert all(fault.sentence[-1] in ".?" for fault in found)
    else:
        assert {"drop", "clean", "seals", "gas", "lot"} <= found.keys()
