"""Judging: when a check is due and what a test says. Pure: no Django, no models, no clock, no file."""

from inspections.judging.calibration import (
    EN_837_CLASSES,
    CalibrationVerdict,
    PointError,
    judge_calibration,
    permissible_error,
    temperature_influence_percent,
)
from inspections.judging.calibration_points import (
    Calibration,
    CalibrationLimits,
    Direction,
    Point,
    PointFault,
    calibration_faults,
)
from inspections.judging.calls import Call, Cause, calls_known_by
from inspections.judging.decision import DecisionRule, JudgingFault, guard_of_difference, worst, zone
from inspections.judging.due import Due, DueStatus, gate_of, gates_of, next_due
from inspections.judging.evidence import GaugeStanding, GaugeState, Refusal, gauge_refusals, refusals
from inspections.judging.form_fields import Field, FormFault
from inspections.judging.form_values import Answer, AnswerFault, Number, answers_as_texts, read_answers
from inspections.judging.form_verdicts import Finding, FormVerdict, judge_answers
from inspections.judging.forms import Form
from inspections.judging.hold_test import HoldLimits, HoldTest, HoldVerdict, PrintedLimits, judge_hold_test
from inspections.judging.intervals import Interval, IntervalFault
from inspections.judging.looking_back import (
    CalibrationDone,
    ErrorAt,
    FoundError,
    ReviewWindow,
    found_error,
    rejudge_hold_test,
    review_window,
    under_review,
)
from inspections.judging.records import Record, Verdict, known_at, known_by, standing
from inspections.judging.regimes import Extension, Version, due_under, gate_under, rule_in_force
from inspections.judging.rules import Basis, Rule
from inspections.judging.shipped_forms import SHIPPED_FORMS, ShippedForm, shipped_form
from inspections.judging.units import AMBIENT_BAR, UNITS, Unit, UnitFault, convert, read_unit

__all__ = [
    "AMBIENT_BAR",
    "EN_837_CLASSES",
    "SHIPPED_FORMS",
    "UNITS",
    "Answer",
    "AnswerFault",
    "Basis",
    "Calibration",
    "CalibrationDone",
    "CalibrationLimits",
    "CalibrationVerdict",
    "Call",
    "Cause",
    "DecisionRule",
    "Direction",
    "Due",
    "DueStatus",
    "ErrorAt",
    "Extension",
    "Field",
    "Finding",
    "Form",
    "FormFault",
    "FormVerdict",
    "FoundError",
    "GaugeStanding",
    "GaugeState",
    "HoldLimits",
    "HoldTest",
    "HoldVerdict",
    "Interval",
    "IntervalFault",
    "JudgingFault",
    "Number",
    "Point",
    "PointError",
    "PointFault",
    "PrintedLimits",
    "Record",
    "Refusal",
    "ReviewWindow",
    "Rule",
    "ShippedForm",
    "Unit",
    "UnitFault",
    "Verdict",
    "Version",
    "answers_as_texts",
    "calibration_faults",
    "calls_known_by",
    "convert",
    "due_under",
    "found_error",
    "gate_of",
    "gate_under",
    "gates_of",
    "gauge_refusals",
    "guard_of_difference",
    "judge_answers",
    "judge_calibration",
    "judge_hold_test",
    "known_at",
    "known_by",
    "next_due",
    "permissible_error",
    "read_answers",
    "read_unit",
    "refusals",
    "rejudge_hold_test",
    "review_window",
    "rule_in_force",
    "shipped_form",
    "standing",
    "temperature_influence_percent",
    "under_review",
    "worst",
    "zone",
]
