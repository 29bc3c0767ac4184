"""Record an inspection, test, calibration or thorough examination."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inspections.models import Check, Inspection, Verdict
from kit.models import Deed, Item, State
from kit.stores import Act, NotAllowed, quarantine, refit


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
    made = record_many(act, [finding])[0]
    item = Item.objects.get(pk=finding.item.pk)
    if (
        finding.verdict == Verdict.FAIL
        and finding.check.gates
        and item.state == State.AVAILABLE
        and is_latest(made)
    ):
        quarantine(act, item, why=f"{finding.check.name} failed on {finding.done_on}: {finding.note or 'no note'}")
    return made


def record_many(act: Act, findings: Sequence[Finding]) -> list[Inspection]:
    """Record findings as they are handed over (a register's past records); nothing is set aside by them.

    Due dates and promises follow in the same transaction. Raises NotAllowed for a future day or a check
    that the item's kind does not have.
    """
    for finding in findings:
        _refuse(act, finding)
    made = []
    for finding in findings:
        row = act.create(
            Inspection(
                item=finding.item,
                check_done=finding.check,
                done_on=finding.done_on,
                verdict=finding.verdict,
                by=finding.by or act.who.actor,
                certificate=finding.certificate,
                note=finding.note,
                recorded_at=act.now,
                recorded_by=act.who.actor,
            )
        )
        act.tell(
            Deed.INSPECTED,
            [finding.item],
            note=f"{finding.check.name}: {finding.verdict}",
            facts={"done_on": finding.done_on, "check": finding.check.name, "verdict": finding.verdict},
        )
        made.append(row)
    items = {finding.item.pk: finding.item for finding in findings}
    refit(act, list(Item.objects.filter(pk__in=items).select_related("kind")) if len(items) < 500 else list(items.values()))
    return made


def _refuse(act: Act, finding: Finding) -> None:
    if finding.done_on > act.today:
        raise NotAllowed(
            f"{finding.check.name} of {finding.item.tag} is dated {finding.done_on}, which is in the future: "
            "give the day on which it was done."
        )
    if finding.check.kind_id != finding.item.kind_id:
        raise NotAllowed(f"{finding.item.tag} is a {finding.item.kind}; it has no check called {finding.check.name}.")
    if finding.verdict not in Verdict.values:
        raise NotAllowed(f"A verdict is pass, fail or doubt, not {finding.verdict!r}.")


def is_latest(made: Inspection) -> bool:
    """True if no record of the same check of the item is of a later day."""
    return not Inspection.objects.filter(
        item_id=made.item_id, check_done_id=made.check_done_id, done_on__gt=made.done_on
    ).exists()
