"""The verdict of a check that was read into a form: pass, fail or doubt, with the reason for each line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from typing import NamedTuple

from inspections.judging.decision import worst, zone
from inspections.judging.form_fields import Field
from inspections.judging.form_values import Answer, Number
from inspections.judging.forms import Form
from inspections.judging.records import Verdict


class Finding(NamedTuple):
    """What one answer says, and why, in a sentence."""

    field: str
    verdict: Verdict
    sentence: str


@dataclass(frozen=True, slots=True)
class FormVerdict:
    """The verdict, a finding for each answer that has a requirement, the reason in one line, the numbers.

    `figures` are the numbers read and the ratios worked out (in %), by name of field, in its unit. A ratio
    is rounded there to two decimals, or to as many more as tell it from its limits; it was judged exact.
    """

    verdict: Verdict
    findings: tuple[Finding, ...]
    why: str
    figures: dict[str, Decimal]


def judge_answers(form: Form, answers: Mapping[str, Answer], done_on: date) -> FormVerdict:
    """Judge `answers`, as `read_answers` gives them, of a check done on `done_on`.

    Fail if any finding fails, else doubt if any is a doubt, else pass. A number passes if it lies within
    its limits by at least the guard, fails if it lies beyond one by more than the guard, and is a doubt
    between; limits are inclusive and compared exact. A check with nothing to judge is a doubt.
    """
    findings: list[Finding] = []
    figures: dict[str, Decimal] = {}
    for field in form.fields:
        exact = _exact(field, answers)
        if exact is not None:
            figures[field.name] = _figure(field, exact, answers)
        if field.judged and (exact is not None or field.name in answers):
            findings.append(_finding(field, answers.get(field.name), exact, figures, done_on))
    # `worst` of nothing is a pass; but what shows nothing is no evidence that anything is met.
    verdict = worst(finding.verdict for finding in findings) if findings else "doubt"
    return FormVerdict(verdict, tuple(findings), _why(findings, verdict), figures)


def _exact(field: Field, answers: Mapping[str, Answer]) -> Fraction | None:
    """The number of a field without any rounding; None if it has none."""
    if field.kind == "ratio":
        measured, against = answers.get(field.measured), answers.get(field.against)
        if not isinstance(measured, Number) or not isinstance(against, Number):
            return None
        return 100 * (Fraction(measured.value) / Fraction(against.value) - 1)
    answer = answers.get(field.name)
    return Fraction(answer.value) if isinstance(answer, Number) else None


def _figure(field: Field, exact: Fraction, answers: Mapping[str, Answer]) -> Decimal:
    answer = answers.get(field.name)
    if isinstance(answer, Number):
        return answer.value
    # A ratio of 5.0000001 % must not be printed as 5.00 beside a limit of 5.
    thresholds = _thresholds(field)
    places = 2
    figure = _rounded(exact, places)
    while places < 40 and exact != Fraction(figure) and Fraction(figure) in thresholds:
        places += 1
        figure = _rounded(exact, places)
    return figure


def _rounded(exact: Fraction, places: int) -> Decimal:
    """Rounded half to even; a Fraction of whole steps, so that nothing is rounded twice."""
    steps = round(exact * 10**places)
    return Context(prec=60, rounding=ROUND_HALF_EVEN).scaleb(Decimal(steps), -places)


def _thresholds(field: Field) -> set[Fraction]:
    guard = Fraction(field.guard)
    limits = [Fraction(limit) for limit in (field.least, field.most) if limit is not None]
    return {edge for limit in limits for edge in (limit - guard, limit, limit + guard)}


def _finding(
    field: Field,
    answer: Answer | None,
    exact: Fraction | None,
    figures: Mapping[str, Decimal],
    done_on: date,
) -> Finding:
    if exact is not None:
        verdict, sentence = _judge_number(field, exact, figures[field.name])
    elif isinstance(answer, date):
        verdict, sentence = _judge_date(field, answer, done_on)
    else:
        verdict, sentence = _judge_choice(field, str(answer))
    return Finding(field.name, verdict, sentence)


def _judge_number(field: Field, exact: Fraction, figure: Decimal) -> tuple[Verdict, str]:
    unit = f" {field.printed_unit}" if field.printed_unit else ""
    read = f"{field.label} is {figure:f}{unit}"
    guard = Fraction(field.guard)
    sides: list[tuple[Verdict, str]] = []
    if field.least is not None:
        below = zone(-exact, -Fraction(field.least), guard)
        sides.append((below, f"{field.least:f}{unit} is the least"))
    if field.most is not None:
        above = zone(exact, Fraction(field.most), guard)
        sides.append((above, f"{field.most:f}{unit} is the most"))
    verdict = worst(side for side, _ in sides)
    limits = " and ".join(words for side, words in sides if side == verdict)
    if verdict == "pass":
        return "pass", f"{read}; {limits}."
    if verdict == "doubt":
        return "doubt", f"{read}, too near the limit to say: {limits}{_guarded(field, unit)}."
    return field.breach, f"{read}, and {limits}{_guarded(field, unit)}."


def _guarded(field: Field, unit: str) -> str:
    return f", with a guard of {field.guard:f}{unit}" if field.guard else ""


def _judge_date(field: Field, day: date, done_on: date) -> tuple[Verdict, str]:
    read = f"{field.label} is {day.isoformat()}"
    if day < done_on:
        return field.breach, f"{read}, before the check on {done_on.isoformat()}."
    return "pass", f"{read}, not before the check on {done_on.isoformat()}."


def _judge_choice(field: Field, answer: str) -> tuple[Verdict, str]:
    if answer in field.doubtful:
        return "doubt", f"{field.label}: {answer}, which casts doubt."
    if field.wanted and answer not in field.wanted:
        return field.breach, f"{field.label}: {answer}, and {' or '.join(field.wanted)} is wanted."
    return "pass", f"{field.label}: {answer}."


def _why(findings: list[Finding], verdict: Verdict) -> str:
    """One line: the sentences that made the verdict, those that fail first."""
    if not findings:
        return "Nothing that was answered has a requirement, so the form shows neither way."
    if verdict == "pass":
        count = len(findings)
        return (
            "The one requirement of the form is met." if count == 1 else f"All {count} requirements are met."
        )
    fails = [finding.sentence for finding in findings if finding.verdict == "fail"]
    doubts = [finding.sentence for finding in findings if finding.verdict == "doubt"]
    return " ".join(fails + doubts)
