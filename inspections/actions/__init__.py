"""What examiners and compliance leads do, one module an action; each runs in an Act of the store."""

from inspections.actions.calibrations import BadPoints, record_calibration
from inspections.actions.check_specs import CheckSpec
from inspections.actions.form_checks import BadAnswers, record_answers
from inspections.actions.hold_tests import NotEvidence, record_hold_test
from inspections.actions.record import Finding, record, record_many
from inspections.actions.regimes import set_checks
from inspections.actions.release import barred_from_release, release

__all__ = [
    "BadAnswers",
    "BadPoints",
    "CheckSpec",
    "Finding",
    "NotEvidence",
    "barred_from_release",
    "record",
    "record_answers",
    "record_calibration",
    "record_hold_test",
    "record_many",
    "release",
    "set_checks",
]
