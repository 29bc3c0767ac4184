"""Correct a record that was entered wrongly, or strike it out: by a new record that points at the old one.

The old record stays, and so does what followed from it in the yard: an item that it set aside stays set aside, and
whoever failed the item does not release it, though the fail was a slip of the pen (rules 6 and 7 of the trade).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from inspections.actions.calibrations import BadPoints, CalibrationRead, calibration_findings
from inspections.actions.correctable import refuse_correction
from inspections.actions.form_checks import form_figures, read_form
from inspections.actions.hold_tests import HoldTestDone, NotEvidence, hold_test_findings
from inspections.actions.record import Finding, record, record_many, refuse_who, version_on, versions_on
from inspections.judging import Calibration, HoldTest
from inspections.models import Inspection, Method
from kit.models import Item
from kit.stores import Act, NotAllowed

_COMPARED = ("done_on", "done_at", "verdict", "as_left", "by", "certificate", "note", "readings")


@dataclass(frozen=True, slots=True)
class Entered:
    """A record as it should have been entered. Of `verdict`, `test`, `calibration` and `answers` the one counts by
    which the record was made; the others are left alone.
    """

    done_on: date
    by: str = ""
    certificate: str = ""
    note: str = ""
    done_at: datetime | None = None
    gauge: Item | None = None
    verdict: str = ""
    test: HoldTest | None = None
    calibration: Calibration | None = None
    answers: Mapping[str, str] | None = None


def entered(old: Inspection) -> Entered:
    """The record as it was entered, to be changed where it is wrong."""
    readings = old.readings
    method = readings.get("method")
    return Entered(
        done_on=old.done_on,
        by=old.by,
        certificate=old.certificate,
        note=old.note,
        done_at=old.done_at,
        gauge=old.gauge,
        verdict=old.verdict,
        test=HoldTest.from_json(readings["test"]) if method == Method.HOLD_TEST else None,
        calibration=Calibration.from_json(readings["calibration"]) if method == Method.CALIBRATION else None,
        answers=dict(readings["answers"]) if method == "form" else None,
    )


def correct(act: Act, old: Inspection, said: Entered, why: str) -> Inspection:
    """Put `said` in the place of `old`; readings are judged by the same code as at the bench, by the rule of the day.

    A fail sets the item aside as it would have; a pass releases nothing. Raises NotAllowed with why: no reason, no
    difference, corrected already, or readings that are refused (see `record_hold_test` and its likes).
    """
    old = _renewed(old)
    refuse_correction(old, old.item, old.check_done)
    if not why.strip():
        raise NotAllowed("Say why the record was wrong: the correction stands beside it for good.")
    finding = _finding(act, old, said)
    if finding.gauge == old.gauge and all(getattr(finding, name) == getattr(old, name) for name in _COMPARED):
        raise NotAllowed(
            "This says the same as the record it would correct: change what is wrong, or leave it."
        )
    return record(act, replace(finding, corrects=old, why_corrected=why.strip()))


def strike(act: Act, old: Inspection, why: str) -> Inspection:
    """Say that `old` does not count, and put nothing in its place: it belongs to another item, or never was.

    Raises NotAllowed with why: no reason, struck out or corrected already, or not one's to do.
    """
    old = _renewed(old)
    refuse_correction(old, old.item, old.check_done)
    if not why.strip():
        raise NotAllowed("Say why the record does not count: that stands beside it for good.")
    refuse_who(act, old.check_done, old.item)
    finding = Finding(
        old.item,
        old.check_done,
        old.done_on,
        "",
        by=act.who.actor,
        note=why.strip()[:500],
        corrects=old,
        struck=True,
        why_corrected=why.strip(),
    )
    return record_many(act, [finding])[0]


def _renewed(old: Inspection) -> Inspection:
    rows = Inspection.objects.select_related("item__kind", "item__depot", "check_done__kind", "gauge__kind")
    return rows.get(pk=old.pk)


def _finding(act: Act, old: Inspection, said: Entered) -> Finding:
    """What the corrected entry finds, judged anew."""
    item, check, method = old.item, old.check_done, old.readings.get("method")
    shared: dict[str, Any] = {"by": said.by or old.by, "note": said.note, "corrects": old}
    found: Finding | NotEvidence | BadPoints
    if method == Method.HOLD_TEST:
        assert said.test is not None
        done = HoldTestDone(item, check, said.gauge, said.test, said.done_on, said.done_at, **shared)
        [found] = hold_test_findings([done], act.today)
    elif method == Method.CALIBRATION:
        assert said.calibration is not None
        read = CalibrationRead(
            item, check, said.calibration, said.done_on, certificate=said.certificate, **shared
        )
        [found] = calibration_findings([read], act.today)
    elif method == "form":
        assert said.answers is not None
        version = version_on(versions_on([check]).get(check.pk, ()), said.done_on)
        answers, verdict = read_form(check, version, said.answers, said.done_on)
        return Finding(
            item,
            check,
            said.done_on,
            verdict.verdict,
            certificate=said.certificate,
            gauge=said.gauge,
            readings={"method": "form", "answers": answers},
            figures=form_figures(verdict),
            why=verdict.why,
            version=version,
            **shared,
        )
    else:
        return Finding(
            item,
            check,
            said.done_on,
            said.verdict,
            certificate=said.certificate,
            done_at=said.done_at,
            **shared,
        )
    if isinstance(found, NotEvidence | BadPoints):
        raise found
    return found
