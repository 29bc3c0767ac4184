"""Each form shipped: it is plain JSON, its best answers pass, and each line that can fail makes it fail."""

import json
from datetime import date, timedelta
from decimal import Decimal

import pytest

from inspections.actions.found import SHIPPED
from inspections.judging import (
    SHIPPED_FORMS,
    Field,
    Form,
    ShippedForm,
    judge_answers,
    read_answers,
    shipped_form,
)

DAY = date(2026, 11, 2)
each_form = pytest.mark.parametrize("shipped", SHIPPED_FORMS, ids=lambda one: f"{one.kind}, {one.check}")

# What a number is when all is well; each form must find its own here, so that a new one is thought about.
NUMBERS = {
    "test_pressure_mbar": "200",
    "held_minutes": "5",
    "drop_mbar": "0,5",
    "gas_concentration": "50",
    "reading": "49",
    "wll_kg": "500",
    "length_new_mm": "1000",
    "length_mm": "1012",
    "diameter_new_mm": "8",
    "diameter_mm": "7.6",
}


def best(field: Field) -> str:
    if field.kind == "number":
        return NUMBERS[field.name]
    if field.kind == "date":
        return DAY.isoformat()
    if field.kind == "text":
        return "as it should be"
    return (field.wanted or field.answers)[0]


def best_answers(form: Form) -> dict[str, str]:
    return {field.name: best(field) for field in form.asked}


def verdict_of(form: Form, texts: dict[str, str]) -> str:
    answers = read_answers(form, texts, DAY)
    assert isinstance(answers, dict), answers
    return judge_answers(form, answers, DAY).verdict


def worst_answers(form: Form) -> list[tuple[str, dict[str, str], str]]:
    """For each line that is judged: its name, answers that break that line alone, and the verdict wanted."""
    found: list[tuple[str, dict[str, str], str]] = []
    for field in form.fields:
        if not field.judged:
            continue
        if field.kind in ("choice", "yes-no"):
            for answer in field.answers:
                if answer in field.doubtful:
                    found.append((field.name, {field.name: answer}, "doubt"))
                elif field.wanted and answer not in field.wanted:
                    found.append((field.name, {field.name: answer}, field.breach))
        elif field.kind == "date":
            found.append((field.name, {field.name: (DAY - timedelta(days=1)).isoformat()}, field.breach))
        for limit, sign in ((field.least, -1), (field.most, 1)):
            if limit is None:
                continue
            beyond = limit + sign * (field.guard + Decimal("0.1"))
            if field.kind == "number":
                found.append((field.name, {field.name: f"{beyond:f}"}, field.breach))
            else:
                measured = Decimal(best_answers(form)[field.against]) * (100 + beyond) / 100
                found.append((field.name, {field.measured: f"{measured:f}"}, field.breach))
    return found


@each_form
def test_it_is_plain_json_and_comes_back_as_it_was(shipped: ShippedForm) -> None:
    assert Form.from_json(json.loads(json.dumps(shipped.form.as_json()))) == shipped.form


@each_form
def test_the_best_answers_pass(shipped: ShippedForm) -> None:
    assert verdict_of(shipped.form, best_answers(shipped.form)) == "pass"


@each_form
def test_each_line_alone_fails_it_or_casts_doubt(shipped: ShippedForm) -> None:
    breaking = worst_answers(shipped.form)
    assert "fail" in {verdict for _, _, verdict in breaking}
    assert {name for name, _, _ in breaking} == {field.name for field in shipped.form.fields if field.judged}
    for name, changed, verdict in breaking:
        assert verdict_of(shipped.form, best_answers(shipped.form) | changed) == verdict, name


@each_form
def test_an_empty_form_is_told_line_by_line(shipped: ShippedForm) -> None:
    told = read_answers(shipped.form, {}, DAY)
    assert isinstance(told, list)
    assert [fault.field for fault in told] == [one.name for one in shipped.form.asked if one.always_needed]


@each_form
def test_it_says_where_it_comes_from_and_so_does_each_limit(shipped: ShippedForm) -> None:
    assert shipped.form.source
    for field in shipped.form.fields:
        if field.least is not None or field.most is not None:
            assert "setting" in field.source, field.name


def test_no_form_calls_anything_safe() -> None:
    assert "safe" not in json.dumps([one.form.as_json() for one in SHIPPED_FORMS]).casefold()


def test_every_kind_shipped_with_a_check_has_a_form_for_it() -> None:
    # A calibration of a gauge is judged from its points, not from a form.
    checks = {(kind, spec.name) for kind, specs in SHIPPED.items() for spec in specs} - {
        ("gauge", "calibration")
    }
    assert checks <= {(one.kind, one.check) for one in SHIPPED_FORMS}
    assert shipped_form("hand tool", "visual") is not None
    assert shipped_form("gauge", "calibration") is None


def test_test_gas_out_of_date_casts_doubt_and_no_response_fails() -> None:
    form = shipped_form("gas detector", "test before use")
    assert form is not None
    well = best_answers(form)
    assert verdict_of(form, well | {"gas_expiry": "2026-11-01"}) == "doubt"
    assert verdict_of(form, well | {"reading": "0"}) == "fail"
    assert verdict_of(form, well | {"reading": "60"}) == "pass"
    assert verdict_of(form, well | {"reading": "60.1"}) == "fail"
