"""Quarantine cases as a spreadsheet: ages, causes and what waits, for the compliance lead."""

from __future__ import annotations

import io
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_noop as _

from inspections.case_list import age_days, band_of, by_band
from inspections.models import CaseNote, Decision, NoteKind, QuarantineCase
from kit.stores import chunked
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column(_("case"), "integer", 8),
    Column(_("tag"), width=18),
    Column(_("kind"), width=16, said=True),
    Column(_("maker"), width=18),
    Column(_("serial"), width=16),
    Column(_("batch"), width=14),
    Column(_("depot"), width=12),
    Column(_("opened"), "date", 17),
    Column(_("opened by"), width=18),
    Column(_("why"), width=48, said=True),
    Column(_("job"), width=18),
    Column(_("decision"), width=20, said=True),
    Column(_("decided"), "date", 17),
    Column(_("decided by"), width=18),
    Column(_("days"), "integer"),
    Column(_("age"), width=24, said=True),
    Column(_("findings"), width=48, said=True),
    Column(_("cause"), width=40, said=True),
    Column(_("used with it"), "integer", 12),
    Column(_("not looked at"), "integer", 13),
    Column(_("notices considered"), "integer", 18),
    Column(_("re-test on release"), width=18),
)


def case_workbook(
    cases: Collection[QuarantineCase], today: date, query: Mapping[str, Any], who: str
) -> bytes:
    """The cases (see `cases_at`) as .xlsx, in the order given. `query` says in words what was asked, `who` asked it.

    Days run to today for an open case, else to its decision; only an open case has an age in words.
    """
    facts = {
        _("as of"): today,
        **query,
        _("drawn up by"): who,
        _("drawn up at"): timezone.localtime(),
        _("note"): _(
            "Days run from the opening to the as-of day, or to the decision of a case that is closed."
        ),
    }
    noted = _notices_considered(cases)
    file = io.BytesIO()
    write_table_workbook(
        file,
        _("Quarantine cases"),
        COLUMNS,
        (_row(case, today, noted.get(case.pk, 0)) for case in cases),
        facts,
        _summary(cases, today),
        for_people=True,
    )
    return file.getvalue()


def _row(case: QuarantineCase, today: date, notices: int) -> tuple[object, ...]:
    item, days = case.item, age_days(case, today)
    return (
        case.pk,
        item.tag,
        item.kind.name,
        item.maker,
        item.serial,
        item.batch,
        item.depot.code,
        timezone.localtime(case.opened_at),
        case.opened_by,
        case.why,
        case.job.reference if case.job else "",
        case.get_decision_display() or _("open"),
        timezone.localtime(case.decided_at) if case.decided_at else None,
        case.decided_by,
        days,
        str(band_of(days).words) if case.is_open else "",
        case.findings,
        case.cause,
        case.used_with,  # type: ignore[attr-defined]
        case.unlooked,  # type: ignore[attr-defined]
        notices,
        case.retest_required,
    )


def _summary(cases: Collection[QuarantineCase], today: date) -> list[tuple[str, int]]:
    open_cases = [case for case in cases if case.is_open]
    return [
        (_("cases"), len(cases)),
        (_("open"), len(open_cases)),
        *((str(band.words), number) for band, number in by_band(open_cases, today)),
        *(
            (decision.label.lower(), sum(case.decision == decision for case in cases))
            for decision in Decision
        ),
        (_("companions not looked at"), sum(case.unlooked for case in cases)),  # type: ignore[attr-defined]
    ]


def _notices_considered(cases: Collection[QuarantineCase]) -> dict[int, int]:
    """How many different notices were considered, by case."""
    found: dict[int, set[str]] = {}
    for chunk in chunked([case.pk for case in cases]):
        notes = CaseNote.objects.filter(case_id__in=chunk, kind=NoteKind.NOTICE)
        for case_id, about in notes.values_list("case_id", "about"):
            found.setdefault(case_id, set()).add(about)
    return {case_id: len(keys) for case_id, keys in found.items()}
