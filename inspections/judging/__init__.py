"""Judging: when a check is due and what a test says. Pure: no Django, no models, no clock, no file."""

from inspections.judging.calls import Call, Cause, calls_known_by
from inspections.judging.decision import DecisionRule, JudgingFault, guard_of_difference, worst, zone
from inspections.judging.due import Due, DueStatus, gate_of, gates_of, next_due
from inspections.judging.evidence import GaugeStanding, GaugeState, Refusal, refusals
from inspections.judging.hold_test import HoldLimits, HoldTest, HoldVerdict, PrintedLimits, judge_hold_test
from inspections.judging.intervals import Interval, IntervalFault
from inspections.judging.records import Record, Verdict, known_at, known_by, standing
from inspections.judging.regimes import Extension, Version, due_under, gate_under, rule_in_force
from inspections.judging.rules import Basis, Rule
from inspections.judging.units import AMBIENT_BAR, UNITS, Unit, UnitFault, convert, read_unit

__all__ = [
    "AMBIENT_BAR",
    "UNITS",
    "Basis",
    "Call",
    "Cause",
    "DecisionRule",
    "Due",
    "DueStatus",
    "Extension",
    "GaugeStanding",
    "GaugeState",
    "HoldLimits",
    "HoldTest",
    "HoldVerdict",
    "Interval",
    "IntervalFault",
    "JudgingFault",
    "PrintedLimits",
    "Record",
    "Refusal",
    "Rule",
    "Unit",
    "UnitFault",
    "Verdict",
    "Version",
    "calls_known_by",
    "convert",
    "due_under",
    "gate_of",
    "gate_under",
    "gates_of",
    "guard_of_difference",
    "judge_hold_test",
    "known_at",
    "known_by",
    "next_due",
    "read_unit",
    "refusals",
    "rule_in_force",
    "standing",
    "worst",
    "zone",
]
