"""A form is data: it comes back from JSON as it was, and one that cannot be is refused in a sentence."""

import json
from decimal import Decimal
from typing import Any

import pytest

from inspections.judging import Field, Form, FormFault

NUMBER = {"name": "drop", "label": "Drop", "kind": "number", "unit": "mbar", "most": "2", "guard": "0.5"}
CHOICE = {"name": "seals", "label": "Seals", "kind": "choice", "choices": ["sound", "worn", "torn"]}
YES_NO = {"name": "clean", "label": "Clean", "kind": "yes-no", "wanted": "yes"}
OLD = {"name": "old", "label": "Old", "kind": "number"}
NEW = {"name": "new", "label": "New", "kind": "number"}
RATIO = {
    "name": "change",
    "label": "Change",
    "kind": "ratio",
    "measured": "new",
    "against": "old",
    "most": "5",
}


def form(*listed: dict[str, Any]) -> Form:
    return Form.from_json({"fields": list(listed)})


def test_a_form_comes_back_from_json_as_it_was() -> None:
    written = {
        "fields": [
            NUMBER,
            CHOICE | {"wanted": ["sound"], "doubtful": ["worn"]},
            {
                "name": "what",
                "label": "What is wrong",
                "kind": "text",
                "needed_if": {"field": "seals", "answers": ["worn", "torn"]},
            },
            {"name": "gas", "label": "Gas", "kind": "date", "not_before_test": True, "breach": "doubt"},
            OLD,
            NEW,
            RATIO,
        ],
        "source": "common practice, no source",
    }
    read = Form.from_json(json.loads(json.dumps(written)))
    assert read.as_json() == written
    assert Form.from_json(read.as_json()) == read


def test_limits_stay_as_they_were_written() -> None:
    (field,) = form(NUMBER | {"most": "0.10"}).fields
    assert str(field.most) == "0.10"
    assert field.as_json()["most"] == "0.10"


def test_a_whole_number_and_a_lone_answer_are_taken() -> None:
    number, clean = form(NUMBER | {"most": 2}, YES_NO).fields
    assert number.most == Decimal(2)
    assert clean.wanted == ("yes",)


def test_a_form_says_whether_it_judges_and_what_is_asked() -> None:
    assert not form(OLD).judges
    assert form(OLD, NEW, RATIO).judges
    assert [field.name for field in form(OLD, NEW, RATIO).asked] == ["old", "new"]


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ([], "has 0 fields"),
        ([{**OLD, "name": f"n{n}"} for n in range(61)], "1 to 60"),
        ([OLD, OLD], "Two fields are named 'old'"),
        ([NUMBER | {"least": "3"}], "is above the most"),
        ([NUMBER | {"least": "1.5"}], "no number passes between"),
        ([NUMBER | {"guard": "-1"}], "write 0 or more"),
        ([OLD | {"guard": "1"}], "a guard and no limit"),
        ([NUMBER | {"most": 2.5}], "as a text"),
        ([NUMBER | {"most": True}], "as a text"),
        ([NUMBER | {"most": "2,5"}], "as a text"),
        ([NUMBER | {"most": "1e9"}], "as a text"),
        ([NUMBER | {"most": "NaN"}], "as a text"),
        ([NUMBER | {"most": None}], "as a text"),
        ([NUMBER | {"most": "1" * 13}], "as a text"),
        ([OLD | {"kind": "money"}], "number, yes-no, choice, date, text, ratio"),
        ([OLD | {"name": "Old age"}], "cannot name a field"),
        ([OLD | {"name": 7}], "write a text in quotes"),
        ([OLD | {"name": "x" * 41}], "up to 40"),
        ([OLD | {"label": " "}], "no label"),
        ([OLD | {"label": "a\nb"}], "one line"),
        ([OLD | {"help": "x" * 501}], "500 characters"),
        ([OLD | {"most_of": "2"}], "'most_of', which no field has"),
        ([{"name": "old", "kind": "number"}], "has no label"),
        (["old"], "write an object"),
        ([OLD | {"needed": "yes"}], "write true or false"),
        ([OLD | {"breach": "doubt"}], "nothing that could be broken"),
        ([NUMBER | {"breach": "pass"}], "write fail or doubt"),
        ([OLD | {"wanted": ["yes"]}], "means nothing for the kind number"),
        ([YES_NO | {"most": "2"}], "means nothing for the kind yes-no"),
        ([YES_NO | {"not_before_test": True}], "make it a date"),
        ([YES_NO | {"choices": ["yes", "no"]}], "make it a choice"),
        ([{"name": "c", "label": "C", "kind": "choice"}], "fewer than two choices"),
        ([CHOICE | {"choices": ["sound"]}], "fewer than two choices"),
        ([CHOICE | {"choices": ["sound", " "]}], "is empty"),
        ([CHOICE | {"choices": ["worn out", "Worn-out"]}], "spelt alike"),
        ([CHOICE | {"choices": [1, 2]}], "write a list of texts"),
        ([CHOICE | {"wanted": ["fine"]}], "'fine', which it does not take"),
        ([YES_NO | {"wanted": ["perhaps"]}], "write some of yes, no"),
        ([CHOICE | {"doubtful": ["odd"]}], "'odd', which it does not take"),
        ([CHOICE | {"wanted": ["worn"], "doubtful": ["worn"]}], "both wanted and doubtful"),
        ([OLD, RATIO], "no number of that name stands before it"),
        ([OLD, RATIO, NEW], "no number of that name stands before it"),
        ([OLD, CHOICE | {"name": "new"}, RATIO], "no number of that name stands before it"),
        ([OLD, NEW, RATIO | {"measured": "old"}], "two different numbers"),
        ([OLD, NEW, RATIO | {"against": ""}], "two different numbers"),
        ([OLD, NEW, RATIO | {"unit": "mm"}], "unit, which means nothing"),
        ([OLD | {"needed": False}, NEW, RATIO], "make both needed or neither"),
        ([OLD | {"needed_if": {"field": "clean", "answers": ["yes"]}}, YES_NO], "stands before it"),
        ([OLD, NEW | {"needed_if": {"field": "old", "answers": ["yes"]}}], "no choice or yes-no"),
        ([YES_NO, OLD | {"needed_if": {"field": "clean", "answers": ["maybe"]}}], "write some of yes, no"),
        ([YES_NO, OLD | {"needed_if": {"field": "clean", "answers": []}}], "answered nothing"),
        ([YES_NO, OLD | {"needed_if": "clean"}], "needed_if"),
        (
            [YES_NO, OLD | {"needed_if": {"field": ["clean"], "answers": ["yes"]}}],
            "name of a field in quotes",
        ),
    ],
)
def test_a_form_that_cannot_be_is_refused_in_a_sentence(fields: list[Any], why: str) -> None:
    with pytest.raises(FormFault) as refused:
        Form.from_json({"fields": fields})
    assert why in str(refused.value)
    assert str(refused.value)[-1] in ".?"


@pytest.mark.parametrize(
    "data",
    [None, [], "form", {}, {"fields": {}}, {"fields": [OLD], "limits": 1}, {"fields": [OLD], "source": 3}],
)
def test_what_is_no_form_is_refused(data: object) -> None:
    with pytest.raises(FormFault, match="form"):
        Form.from_json(data)


@pytest.mark.parametrize("odd", [Decimal("NaN"), Decimal("Infinity"), Decimal("1E+20"), Decimal("1E-20")])
def test_a_limit_that_is_no_plain_number_is_refused(odd: Decimal) -> None:
    with pytest.raises(FormFault, match="cannot be a limit"):
        Field("drop", "Drop", "number", most=odd)


def test_answers_given_as_one_text_in_code_are_refused_not_spelt_out() -> None:
    with pytest.raises(FormFault, match="write a list"):
        Field("clean", "Clean", "yes-no", wanted="yes")  # type: ignore[arg-type]
