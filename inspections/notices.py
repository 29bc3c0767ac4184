"""What a person must think of when kit has failed. The tool asks; it never decides whether anything is reported."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any, Literal

from django.utils.translation import gettext_lazy as _

from inspections.models import Check, NoteKind, QuarantineCase

LIFTING_RULES = "LOLER"
"""A kind lifts if a check in force names these rules as its source: no code asks for a kind by name."""

PRACTICE = _("common practice, no source")


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing to consider. `applies` to what failed on a job, is of a known batch, or lifts."""

    key: str
    words: Any
    source: Any
    applies: Literal["job", "batch", "lifting"]


NOTICES: tuple[Notice, ...] = (
    Notice(
        "authority",
        _("It failed on a job: it may have to be reported to the authority."),
        _("In Great Britain RIDDOR 2013 (from memory); elsewhere the law of the place."),
        "job",
    ),
    Notice(
        "operator",
        _("It failed on a job: it may have to be reported to the network operator."),
        _("Common practice, no source; the network operator's procedure decides."),
        "job",
    ),
    Notice("maker", _("The maker may have to be told how it failed."), PRACTICE, "job"),
    Notice(
        "batch",
        _("Other pieces of its batch may have the same fault: look them up and look at them."),
        PRACTICE,
        "batch",
    ),
    Notice(
        "dangerous",
        _(
            "It lifts: a defect that is or could become dangerous is notified at once, and the piece is not used "
            "before it is mended."
        ),
        _("LOLER 1998 regulation 10 (from memory)"),
        "lifting",
    ),
)


def notices_for(case: QuarantineCase) -> list[Notice]:
    """The notices that a person considers in this case."""
    facts = {
        "job": case.job_id is not None,
        "batch": bool(case.item.batch),
        "lifting": Check.objects.in_force()
        .filter(kind_id=case.item.kind_id, source__icontains=LIFTING_RULES)
        .exists(),
    }
    return [notice for notice in NOTICES if facts[notice.applies]]


def considered(case: QuarantineCase) -> set[str]:
    """Keys of the notices that somebody has considered in this case."""
    rows = case.notes.filter(kind=NoteKind.NOTICE)
    return set(rows.values_list("about", flat=True))


def not_considered(case: QuarantineCase, done: Collection[str] | None = None) -> list[Notice]:
    """The notices that a release waits for. What did not come from a job waits for none: they are reminders."""
    if case.job_id is None:
        return []
    done = considered(case) if done is None else done
    return [notice for notice in notices_for(case) if notice.key not in done]
