"""Record a check that is read into a form: the answers are judged by the form that was in force on that day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from inspections.actions.hold_tests import NotEvidence
from inspections.actions.record import Finding, record, version_on, versions_on
from inspections.gauges import gauge_standing
from inspections.judging import (
    AnswerFault,
    FormFault,
    FormVerdict,
    GaugeStanding,
    answers_as_texts,
    gauge_refusals,
    judge_answers,
    read_answers,
)
from inspections.limits import form_of
from inspections.models import Check, CheckVersion, Inspection, Method
from kit.models import Item
from kit.stores import Act, NotAllowed


class BadAnswers(NotAllowed):
    """Answers that cannot be taken; `faults` say which fields, and what to write."""

    def __init__(self, found: Sequence[AnswerFault]) -> None:
        self.faults = tuple(found)
        super().__init__(" ".join(fault.sentence for fault in self.faults))


def record_answers(
    act: Act,
    item: Item,
    check: Check,
    texts: Mapping[str, str],
    done_on: date,
    *,
    gauge: Item | None = None,
    by: str = "",
    certificate: str = "",
    note: str = "",
    corrects: Inspection | None = None,
) -> Inspection:
    """Record a check from the answers to its form, as typed, by name of field.

    Raises BadAnswers with a fault a field, NotEvidence for a gauge that may not be relied on, NotAllowed if the
    check has no form, and as `record` does.
    """
    version = version_on(versions_on([check]).get(check.pk, ()), done_on)
    read = read_form(check, version, texts, done_on)
    if gauge is not None:
        gauge = Item.objects.select_related("kind").get(pk=gauge.pk)
        _refuse_gauge(gauge_standing(gauge, done_on, item))
    answers, verdict = read
    return record(
        act,
        Finding(
            item,
            check,
            done_on,
            verdict.verdict,
            by,
            certificate,
            note,
            gauge=gauge,
            readings={"method": "form", "answers": answers},
            figures=form_figures(verdict),
            why=verdict.why,
            corrects=corrects,
            version=version,
        ),
    )


def read_form(
    check: Check, version: CheckVersion | None, texts: Mapping[str, str], done_on: date
) -> tuple[dict[str, str], FormVerdict]:
    """The answers as they are kept, and their verdict. Raises BadAnswers; NotAllowed if that version has no form."""
    if version is None or version.method != Method.PLAIN:
        method = version.method if version else "check without a rule"
        raise NotAllowed(
            f"{check.name} of {check.kind} was a {method} on {done_on}, which is not read into a form; "
            "enter its own readings."
        )
    if not version.form:
        raise NotAllowed(
            f"{check.name} of {check.kind} had no form on {done_on}; record its verdict, or give it a form first."
        )
    try:
        form = form_of(version)
    except FormFault as fault:
        raise NotAllowed(f"The form of {check.name} of {check.kind} cannot be used. {fault}") from fault
    answers = read_answers(form, texts, done_on)
    if isinstance(answers, list):
        raise BadAnswers(answers)
    return answers_as_texts(answers), judge_answers(form, answers, done_on)


def form_figures(verdict: FormVerdict) -> dict[str, float]:
    """The numbers read and worked out, by name of field, as they are kept beside the verdict."""
    return {name: float(figure) for name, figure in verdict.figures.items()}


def _refuse_gauge(standing: GaugeStanding) -> None:
    if refused := gauge_refusals(standing):
        raise NotEvidence(refused)
