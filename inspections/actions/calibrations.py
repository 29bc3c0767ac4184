"""Record a calibration from its points: as found decides the verdict, as left whether the gauge may be used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inspections.actions.hold_tests import not_by
from inspections.actions.record import Finding, record, versions_on
from inspections.actions.reviews import open_review
from inspections.judging import (
    Calibration,
    JudgingFault,
    PointFault,
    calibration_faults,
    judge_calibration,
)
from inspections.limits import calibration_limits, version_that_judges
from inspections.models import Check, CheckVersion, Inspection, Method, Verdict
from kit.models import Item
from kit.stores import Act, NotAllowed


class BadPoints(NotAllowed):
    """Points that cannot be judged; `faults` say which, by their position from 0 (None: all of it), and why."""

    def __init__(self, found: Sequence[PointFault]) -> None:
        self.faults = tuple(found)
        super().__init__(" ".join(fault.text for fault in self.faults))


@dataclass(frozen=True, slots=True)
class CalibrationRead:
    """A calibration as it is handed over: the points that were read of one gauge."""

    gauge: Item
    check: Check
    calibration: Calibration
    done_on: date
    by: str = ""
    certificate: str = ""
    note: str = ""
    corrects: Inspection | None = None


def record_calibration(
    act: Act,
    gauge: Item,
    check: Check,
    calibration: Calibration,
    done_on: date,
    *,
    by: str = "",
    certificate: str = "",
    note: str = "",
    corrects: Inspection | None = None,
) -> Inspection:
    """Record one calibration. A gauge that it leaves failing is set aside at once, and one that it finds failing puts
    under review what was tested with it.

    Raises BadPoints with every fault, point by point; NotAllowed as `record` does.
    """
    done = CalibrationRead(gauge, check, calibration, done_on, by, certificate, note, corrects)
    [found] = calibration_findings([done], act.today)
    if isinstance(found, BadPoints):
        raise found
    made = record(act, found)
    if made.verdict == Verdict.FAIL:
        open_review(act, made)
    return made


def calibration_findings(done: Sequence[CalibrationRead], today: date) -> list[Finding | BadPoints]:
    """What each calibration says, in their order, or why it cannot be judged. Nothing is written."""
    versions = versions_on(each.check for each in done)
    return [_judge(each, versions.get(each.check.pk, ()), today) for each in done]


def _judge(done: CalibrationRead, versions: Sequence[CheckVersion], today: date) -> Finding | BadPoints:
    version = version_that_judges(versions, done.done_on, today, method=Method.CALIBRATION, retired=False)
    if version is None:
        return BadPoints([PointFault(None, "check", not_by(done.check, Method.CALIBRATION, done.done_on))])
    try:
        limits = calibration_limits(version)
    except JudgingFault as fault:
        return BadPoints([PointFault(None, fault.field, str(fault))])
    faults = tuple(calibration_faults(done.calibration, limits))
    if faults:
        return BadPoints(faults)
    verdict = judge_calibration(done.calibration, limits)
    return Finding(
        done.gauge,
        done.check,
        done.done_on,
        verdict.verdict,
        done.by,
        done.certificate,
        done.note,
        as_left=verdict.as_left or "",
        readings={"method": Method.CALIBRATION.value, "calibration": done.calibration.to_json()},
        figures=verdict.figures(),
        why=verdict.why,
        corrects=done.corrects,
        version=version,
    )
