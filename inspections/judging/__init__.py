"""Judging: when a check is due and what a test says. Pure: no Django, no models, no clock, no file."""

from inspections.judging.calls import Call, Cause, calls_known_by
from inspections.judging.due import Due, DueStatus, gate_of, gates_of, next_due
from inspections.judging.intervals import Interval, IntervalFault
from inspections.judging.records import Record, Verdict, known_at, known_by, standing
from inspections.judging.regimes import Extension, Version, due_under, gate_under, rule_in_force
from inspections.judging.rules import Basis, Rule

__all__ = [
    "Basis",
    "Call",
    "Cause",
    "Due",
    "DueStatus",
    "Extension",
    "Interval",
    "IntervalFault",
    "Record",
    "Rule",
    "Verdict",
    "Version",
    "calls_known_by",
    "due_under",
    "gate_of",
    "gate_under",
    "gates_of",
    "known_at",
    "known_by",
    "next_due",
    "rule_in_force",
    "standing",
]
