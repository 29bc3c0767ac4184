"""The verdict of a form, against a second way of working it out: whole thousandths, line by line."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inspections.judging import Field, Form, FormVerdict, judge_answers, read_answers
from tests.counts import cases

DAY = date(2026, 11, 2)
SEALS = ("sound", "worn", "torn")


def judged(form: Form, **texts: str) -> FormVerdict:
    answers = read_answers(form, texts, DAY)
    assert isinstance(answers, dict), answers
    return judge_answers(form, answers, DAY)


def drop(**limits: Any) -> Form:
    return Form((Field("drop", "Drop", "number", unit="mbar", **limits),))


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        ("1.49", "pass"),
        ("1.5", "pass"),
        ("1,50", "pass"),
        ("1.500000000001", "doubt"),
        ("2", "doubt"),
        ("2.5", "doubt"),
        ("2.500000000001", "fail"),
    ],
)
def test_within_the_guard_of_the_most_is_a_doubt(text: str, verdict: str) -> None:
    assert judged(drop(most=Decimal(2), guard=Decimal("0.5")), drop=text).verdict == verdict


@pytest.mark.parametrize(
    ("text", "verdict"), [("4.4", "fail"), ("4.5", "doubt"), ("5.49", "doubt"), ("5.5", "pass")]
)
def test_within_the_guard_of_the_least_is_a_doubt(text: str, verdict: str) -> None:
    assert judged(drop(least=Decimal(5), guard=Decimal("0.5")), drop=text).verdict == verdict


@pytest.mark.parametrize(
    ("text", "verdict"), [("1", "pass"), ("2.0", "pass"), ("0.999", "fail"), ("2.001", "fail")]
)
def test_limits_belong_to_what_passes(text: str, verdict: str) -> None:
    assert judged(drop(least=Decimal(1), most=Decimal(2)), drop=text).verdict == verdict


def test_decimals_are_compared_exact() -> None:
    # As binary fractions 0.1 + 0.2 is more than 0.3, and 28 digits cannot hold the sum below.
    assert judged(drop(most=Decimal("0.2"), guard=Decimal("0.1")), drop="0.3").verdict == "doubt"
    large = drop(most=Decimal("999999999998"), guard=Decimal("0.000000000001"))
    assert judged(large, drop="999999999998.000000000001").verdict == "doubt"
    assert judged(large, drop="999999999998.000000000002").verdict == "fail"


def test_a_sentence_says_what_was_read_and_what_is_allowed() -> None:
    verdict = judged(drop(most=Decimal(2), guard=Decimal("0.5")), drop="3.10")
    assert verdict.why == "Drop is 3.10 mbar, and 2 mbar is the most, with a guard of 0.5 mbar."
    assert verdict.figures == {"drop": Decimal("3.10")}
    assert judged(drop(most=Decimal(2)), drop="1").why == "The one requirement of the form is met."


def stretch(**limits: Any) -> Form:
    return Form(
        (
            Field("old", "Length when new", "number", unit="mm", needed=False),
            Field("new", "Length now", "number", unit="mm", needed=False),
            Field("stretch", "Stretch", "ratio", measured="new", against="old", needed=False, **limits),
        )
    )


@pytest.mark.parametrize(
    ("new", "verdict", "figure"),
    [
        ("1050", "pass", "5.00"),
        ("1050.1", "fail", "5.01"),
        ("1050.0001", "fail", "5.00001"),
        ("990", "pass", "-1.00"),
    ],
)
def test_a_ratio_is_worked_out_exact_and_never_printed_on_the_wrong_side(
    new: str, verdict: str, figure: str
) -> None:
    result = judged(stretch(most=Decimal(5)), old="1000", new=new)
    assert result.verdict == verdict
    assert str(result.figures["stretch"]) == figure
    assert [finding.field for finding in result.findings] == ["stretch"]
    assert f"Stretch is {figure} %" in result.findings[0].sentence


def test_a_ratio_that_has_no_end_is_judged_before_it_is_rounded() -> None:
    # 100 x (4 - 3) / 3 is 33.333..., below a limit of 33.34 and above one of 33.33.
    assert judged(stretch(most=Decimal("33.34")), old="3", new="4").verdict == "pass"
    above = judged(stretch(most=Decimal("33.33")), old="3", new="4")
    assert above.verdict == "fail"
    assert str(above.figures["stretch"]) == "33.333"


def test_what_is_not_answered_is_not_judged_and_nothing_judged_is_a_doubt() -> None:
    nothing = judged(stretch(most=Decimal(5)))
    assert (nothing.verdict, nothing.findings, nothing.figures) == ("doubt", (), {})
    assert "shows neither way" in nothing.why


def choice(**settings_: Any) -> Form:
    return Form((Field("seals", "Seals", "choice", choices=SEALS, **settings_),))


@pytest.mark.parametrize(("answer", "verdict"), [("sound", "pass"), ("worn", "doubt"), ("torn", "fail")])
def test_a_choice_passes_casts_doubt_or_fails(answer: str, verdict: str) -> None:
    assert judged(choice(wanted=("sound",), doubtful=("worn",)), seals=answer).verdict == verdict


def test_without_a_wanted_answer_only_the_doubtful_one_counts() -> None:
    assert [judged(choice(doubtful=("torn",)), seals=one).verdict for one in SEALS] == [
        "pass",
        "pass",
        "doubt",
    ]


@pytest.mark.parametrize(("day", "verdict"), [(0, "pass"), (1, "pass"), (-1, "fail")])
def test_a_date_is_in_date_on_its_last_day(day: int, verdict: str) -> None:
    form = Form((Field("gas", "Test gas expires on", "date", not_before_test=True),))
    assert judged(form, gas=(DAY + timedelta(days=day)).isoformat()).verdict == verdict


def test_a_breach_may_cast_doubt_instead_of_failing() -> None:
    form = Form((Field("gas", "Test gas expires on", "date", not_before_test=True, breach="doubt"),))
    assert judged(form, gas="2026-11-01").verdict == "doubt"
    assert judged(drop(most=Decimal(2), breach="doubt"), drop="3").verdict == "doubt"
    yes = Form((Field("clean", "Clean", "yes-no", wanted=("yes",), breach="doubt"),))
    assert judged(yes, clean="no").verdict == "doubt"


def test_the_reason_names_every_line_that_fails_then_every_doubt() -> None:
    form = Form((*choice(wanted=("sound",), doubtful=("worn",)).fields, *drop(most=Decimal(2)).fields))
    result = judged(form, seals="worn", drop="3")
    assert result.verdict == "fail"
    assert result.why == "Drop is 3 mbar, and 2 mbar is the most. Seals: worn, which casts doubt."


THOUSANDTHS = st.integers(-3000, 3000)


def thousandths(number: int) -> str:
    """A whole number of thousandths as a decimal text, by moving digits alone."""
    digits = f"{abs(number):04d}"
    return f"{'-' if number < 0 else ''}{digits[:-3]}.{digits[-3:]}"


@st.composite
def lines(draw: st.DrawFn, n: int) -> tuple[dict[str, Any], str, str | None]:
    """A field as JSON, an answer to it, and the verdict by counting (None if nothing is to be judged)."""
    kind = draw(st.sampled_from(["number", "choice", "date", "yes-no", "text"]))
    field: dict[str, Any] = {"name": f"f{n}", "label": f"Line {n}", "kind": kind}
    if kind == "number":
        read = draw(THOUSANDTHS)
        least, most = draw(st.none() | THOUSANDTHS), draw(st.none() | THOUSANDTHS)
        guard = draw(st.integers(0, 500)) if (least, most) != (None, None) else 0
        assume(least is None or most is None or least + guard <= most - guard)
        field |= {"guard": thousandths(guard)}
        field |= {"least": thousandths(least)} if least is not None else {}
        field |= {"most": thousandths(most)} if most is not None else {}
        lower = [least] if least is not None else []
        upper = [most] if most is not None else []
        if any(read < one - guard for one in lower) or any(read > one + guard for one in upper):
            verdict = "fail"
        elif all(read >= one + guard for one in lower) and all(read <= one - guard for one in upper):
            verdict = "pass"
        else:
            verdict = "doubt"
        return field, thousandths(read), verdict if lower or upper else None
    if kind == "date":
        late = draw(st.integers(-3, 3))
        field["not_before_test"] = True
        return field, (DAY + timedelta(days=late)).isoformat(), "fail" if late < 0 else "pass"
    if kind == "text":
        return field, "anything", None
    answers = ["yes", "no"] if kind == "yes-no" else list(SEALS)
    if kind == "choice":
        field["choices"] = answers
    meaning = {one: draw(st.sampled_from(["wanted", "doubtful", "neither"])) for one in answers}
    field["wanted"] = [one for one in answers if meaning[one] == "wanted"]
    field["doubtful"] = [one for one in answers if meaning[one] == "doubtful"]
    answer = draw(st.sampled_from(answers))
    by_meaning = {"wanted": "pass", "doubtful": "doubt", "neither": "fail" if field["wanted"] else "pass"}
    silent = not field["wanted"] and not field["doubtful"]
    return field, answer, None if silent else by_meaning[meaning[answer]]


@settings(max_examples=cases(150), deadline=None)
@given(st.data())
def test_the_verdict_is_the_worst_line_as_counted_line_by_line(data: st.DataObject) -> None:
    drawn = [data.draw(lines(n)) for n in range(data.draw(st.integers(1, 5)))]
    form = Form.from_json({"fields": [field for field, _, _ in drawn]})
    result = judged(form, **{field["name"]: answer for field, answer, _ in drawn})
    expected = {field["name"]: verdict for field, _, verdict in drawn if verdict is not None}
    assert {finding.field: finding.verdict for finding in result.findings} == expected
    worst = next(
        (one for one in ("fail", "doubt") if one in expected.values()), "pass" if expected else "doubt"
    )
    assert result.verdict == worst
    assert form.judges == bool(expected)
    assert "\n" not in result.why


@settings(max_examples=cases(150), deadline=None)
@given(
    st.integers(1, 5000),
    st.integers(-5000, 5000),
    st.integers(-3000, 3000),
    st.integers(0, 3000),
    st.integers(0, 500),
)
def test_a_ratio_is_judged_as_whole_numbers_say(
    old: int, new: int, least: int, width: int, guard: int
) -> None:
    most = least + width + 2 * guard
    form = stretch(
        least=Decimal(thousandths(least)), most=Decimal(thousandths(most)), guard=Decimal(thousandths(guard))
    )
    result = judged(form, old=str(old), new=str(new))
    # 100 x (new - old) / old against thousandths of a per cent, both sides times 1000 x old.
    ratio = 100_000 * (new - old)
    if ratio < (least - guard) * old or ratio > (most + guard) * old:
        expected = "fail"
    elif (least + guard) * old <= ratio <= (most - guard) * old:
        expected = "pass"
    else:
        expected = "doubt"
    assert result.verdict == expected
