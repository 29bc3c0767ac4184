"""Checks and their versions, records, due dates, cases, concessions, reviews, attachments."""

from inspections.models.attachment import MOST_BYTES, Attachment, AttachmentBytes
from inspections.models.bench import FeedKey, HoldRun, MailSent, MailWish
from inspections.models.case import CaseCompanion, CaseNote, Decision, Looked, NoteKind, QuarantineCase
from inspections.models.check import (
    EVER,
    RULE_COLUMNS,
    Basis,
    Check,
    CheckVersion,
    DecisionRule,
    Method,
)
from inspections.models.concession import Concession, ConcessionState
from inspections.models.inspection import Cause, Due, Inspection, RetestCall, UseCall, Verdict
from inspections.models.review import Outcome, Review, ReviewedRecord

__all__ = [
    "EVER",
    "MOST_BYTES",
    "RULE_COLUMNS",
    "Attachment",
    "AttachmentBytes",
    "Basis",
    "CaseCompanion",
    "CaseNote",
    "Cause",
    "Check",
    "CheckVersion",
    "Concession",
    "ConcessionState",
    "Decision",
    "DecisionRule",
    "Due",
    "FeedKey",
    "HoldRun",
    "Inspection",
    "Looked",
    "MailSent",
    "MailWish",
    "Method",
    "NoteKind",
    "Outcome",
    "QuarantineCase",
    "RetestCall",
    "Review",
    "ReviewedRecord",
    "UseCall",
    "Verdict",
]
