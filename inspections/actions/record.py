"""Record an inspection, test, calibration or thorough examination."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from inspections.actions.correctable import entry_of, refuse_correction
from inspections.actions.retests import latest_of
from inspections.actions.reviews import open_review
from inspections.look_back import calibrating_checks
from inspections.models import Check, CheckVersion, Inspection, Verdict
from kit.models import Deed, Item, Membership, State
from kit.stores import Act, NotAllowed, chunked, quarantine, refit


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found by one check of one item.

    Computed verdicts bring their `readings` (as entered), `figures` and `why` (as computed from them), the `gauge`
    they were read on and, for a calibration, the verdict `as_left`. `corrects` is the record that this one replaces;
    with `struck` nothing takes its place, and there is no verdict.
    """

    item: Item
    check: Check
    done_on: date
    verdict: str
    by: str = ""
    certificate: str = ""
    note: str = ""
    done_at: datetime | None = None
    as_left: str = ""
    gauge: Item | None = None
    readings: dict[str, Any] = field(default_factory=dict)
    figures: dict[str, Any] = field(default_factory=dict)
    why: str = ""
    corrects: Inspection | None = None
    struck: bool = False
    # Why the record that it corrects was wrong.
    why_corrected: str = ""
    # The version that judged the readings; None: the one in force on the day.
    version: CheckVersion | None = None

    @property
    def leaves(self) -> str:
        """The verdict from then on: as left where something was adjusted, else as found."""
        return self.as_left or self.verdict


def record(act: Act, finding: Finding) -> Inspection:
    """Record one finding made here and now: a fail of a gating check sets the item aside at once.

    A gauge found out of tolerance, be it set right since, puts what was tested with it under review (see reviews.py).
    Raises NotAllowed as `record_many`, and if the check is for people of a role that whoever acts does not hold.
    """
    refuse_who(act, finding.check, finding.item)
    made = record_many(act, [replace(finding, by=finding.by or act.who.actor)])[0]
    item = Item.objects.get(pk=finding.item.pk)
    if (
        finding.leaves == Verdict.FAIL
        and finding.check.gates
        and item.state == State.AVAILABLE
        and is_latest(made)
    ):
        what = finding.note or finding.why or "no note"
        quarantine(act, item, why=f"{finding.check.name} failed on {finding.done_on}: {what}"[:500])
    if made.verdict == Verdict.FAIL and made.check_done_id in calibrating_checks(item.kind_id):
        open_review(act, made)
    return made


def record_many(act: Act, findings: Sequence[Finding], derive: bool = True) -> list[Inspection]:
    """Record findings as they are handed over (a register's past records); nothing is set aside by them.

    Due dates and promises follow in the same transaction, unless the caller derives them itself. Raises
    NotAllowed for a future day or a check that is not asked of the item.
    """
    for finding in findings:
        _refuse(act, finding)
    versions = versions_on(finding.check for finding in findings)
    made = _write(
        act,
        [
            Inspection(
                item=finding.item,
                check_done=finding.check,
                done_on=finding.done_on,
                done_at=finding.done_at,
                verdict=finding.verdict,
                as_left=finding.as_left,
                version=finding.version or version_on(versions.get(finding.check.pk, ()), finding.done_on),
                gauge=finding.gauge,
                readings=finding.readings,
                figures=finding.figures,
                why=finding.why[:500],
                corrects=finding.corrects,
                struck=finding.struck,
                by=finding.by,
                certificate=finding.certificate,
                note=finding.note,
                recorded_at=act.now,
                recorded_by=act.who.actor,
            )
            for finding in findings
        ],
        [finding.why_corrected for finding in findings],
    )
    if derive:
        # As they are now: an item that a screen was showing may have got another use-by date since.
        ids = sorted({finding.item.pk for finding in findings})
        for chunk in chunked(ids, 2000):
            refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
    return made


def _write(act: Act, rows: Sequence[Inspection], whys: Sequence[str]) -> list[Inspection]:
    """Insert the records, each with an entry of its own: of a correction, one that points at the old entry."""
    if all(row.corrects is None for row in rows):
        return act.create_each(
            rows, Deed.INSPECTED, _subjects, _note, _facts, happened_at=lambda row: _when(act, row)
        )
    for row, why in zip(rows, whys, strict=True):
        act.create(row)
        if row.corrects is None:
            act.tell(Deed.INSPECTED, _subjects(row), _note(row), _facts(row), happened_at=_when(act, row))
        else:
            act.tell(
                Deed.CORRECTED,
                _subjects(row),
                f"{_note(row)}, in place of {row.corrects.verdict} on {row.corrects.done_on}. {why}",
                _facts(row) | {"by": row.by},
                corrects=entry_of(row.corrects),
            )
    return list(rows)


def _subjects(row: Inspection) -> list[Item]:
    return [row.item, *([row.gauge] if row.gauge else [])]


def _note(row: Inspection) -> str:
    return f"{row.check_done.name}: {row.verdict or 'struck out'}"


def _facts(row: Inspection) -> dict[str, Any]:
    return {"done_on": row.done_on, "check": row.check_done.name, "verdict": row.verdict}


def _when(act: Act, row: Inspection) -> datetime | None:
    """When it was done, as near as that is known; None: as the act happens."""
    if row.done_at is not None:
        return row.done_at
    return act.noon_of(row.done_on) if row.done_on < act.today else None


def versions_on(checks: Iterable[Check]) -> dict[int, list[CheckVersion]]:
    """All versions of these checks, by check id."""
    found: dict[int, list[CheckVersion]] = {}
    for version in CheckVersion.objects.filter(of_id__in={check.pk for check in checks}):
        found.setdefault(version.of_id, []).append(version)
    return found


def version_on(versions: Iterable[CheckVersion], day: date) -> CheckVersion | None:
    """The version that judges what is done on that day. What was done before the first is judged by the first."""
    listed = sorted(versions, key=lambda version: (version.in_force_from, version.number))
    begun = [version for version in listed if version.in_force_from <= day]
    return begun[-1] if begun else listed[0] if listed else None


def refuse_who(act: Act, check: Check, item: Item) -> None:
    """Raise NotAllowed if the check is for a role that whoever acts does not hold at the item's depot."""
    if not check.done_by:
        return
    holds = Membership.objects.filter(
        user__username=act.who.actor, depot_id=item.depot_id, role=check.done_by
    )
    if not holds.exists():
        role = dict(Membership._meta.get_field("role").flatchoices).get(check.done_by, check.done_by)
        raise NotAllowed(
            f"{check.name} of {item.tag} is for the {str(role).lower()} at {item.depot}: ask one of them to do it."
        )


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
    if finding.gauge is not None and finding.gauge.pk == finding.item.pk:
        raise NotAllowed(f"{finding.item.tag} cannot be the gauge of its own test: read it on another.")
    if finding.corrects is not None:
        refuse_correction(finding.corrects, finding.item, finding.check)
    if finding.struck:
        if finding.corrects is None or finding.verdict:
            raise NotAllowed("Striking out a record needs that record, and gives no verdict.")
    elif finding.verdict not in Verdict.values:
        raise NotAllowed(f"A verdict is pass, fail or doubt, not {finding.verdict!r}.")


def is_latest(made: Inspection) -> bool:
    """True if it decides how its check stands on the item now."""
    return bool(latest_of([made]))
