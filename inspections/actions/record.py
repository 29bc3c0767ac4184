"""Record an inspection, test, calibration or thorough examination."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from inspections.models import Check, Inspection, Verdict
from kit.models import Deed, Item, State
from kit.stores import Act, NotAllowed, chunked, quarantine, refit


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found by one check of one item."""

    item: Item
    check: Check
    done_on: date
    verdict: str
    by: str = ""
    certificate: str = ""
    note: str = ""


def record(act: Act, finding: Finding) -> Inspection:
    """Record one finding made here and now: a fail of a gating check sets the item aside at once."""
    made = record_many(act, [replace(finding, by=finding.by or act.who.actor)])[0]
    item = Item.objects.get(pk=finding.item.pk)
    if (
        finding.verdict == Verdict.FAIL
        and finding.check.gates
        and item.state == State.AVAILABLE
        and is_latest(made)
    ):
        quarantine(
            act, item, why=f"{finding.check.name} failed on {finding.done_on}: {finding.note or 'no note'}"
        )
    return made


def record_many(act: Act, findings: Sequence[Finding], derive: bool = True) -> list[Inspection]:
    """Record findings as they are handed over (a register's past records); nothing is set aside by them.

    Due dates and promises follow in the same transaction, unless the caller derives them itself. Raises
    NotAllowed for a future day or a check that the item's kind does not have.
    """
    for finding in findings:
        _refuse(act, finding)
    made = act.create_each(
        [
            Inspection(
                item=finding.item,
                check_done=finding.check,
                done_on=finding.done_on,
                verdict=finding.verdict,
                by=finding.by,
                certificate=finding.certificate,
                note=finding.note,
                recorded_at=act.now,
                recorded_by=act.who.actor,
            )
            for finding in findings
        ],
        Deed.INSPECTED,
        subjects=lambda row: [row.item],
        note=lambda row: f"{row.check_done.name}: {row.verdict}",
        facts=lambda row: {"done_on": row.done_on, "check": row.check_done.name, "verdict": row.verdict},
    )
    if derive:
        # As they are now: an item that a screen was showing may have got another use-by date since.
        ids = sorted({finding.item.pk for finding in findings})
        for chunk in chunked(ids, 2000):
            refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
    return made


def _refuse(act: Act, finding: Finding) -> None:
    if finding.done_on > act.today:
        raise NotAllowed(
            f"{finding.check.name} of {finding.item.tag} is dated {finding.done_on}, which is in the future: "
            "give the day on which it was done."
        )
    if finding.check.kind_id != finding.item.kind_id:
        raise NotAllowed(
            f"{finding.item.tag} is a {finding.item.kind}; it has no check called {finding.check.name}."
        )
    if finding.verdict not in Verdict.values:
        raise NotAllowed(f"A verdict is pass, fail or doubt, not {finding.verdict!r}.")


def is_latest(made: Inspection) -> bool:
    """True if no record of the same check of the item is of a later day."""
    return not Inspection.objects.filter(
        item_id=made.item_id, check_done_id=made.check_done_id, done_on__gt=made.done_on
    ).exists()
