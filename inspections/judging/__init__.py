"""Judging: when a check is due and what a test says. Pure: no Django, no models, no clock, no file."""

from inspections.judging.due import (
    Basis,
    Call,
    Due,
    DueStatus,
    Record,
    Rule,
    Verdict,
    calls_known_by,
    gates_of,
    known_by,
    next_due,
)
from inspections.judging.intervals import Interval, IntervalFault

__all__ = [
    "Basis",
    "Call",
    "Due",
    "DueStatus",
    "Interval",
    "IntervalFault",
    "Record",
    "Rule",
    "Verdict",
    "calls_known_by",
    "gates_of",
    "known_by",
    "next_due",
]
