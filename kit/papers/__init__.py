"""The papers of the store as PDF: load list, issue note, return note, defect tag.

Each function takes a frozen value and gives the bytes of a tagged PDF (PDF/UA-1, English) for a mono A4
printer. Nothing here reads the register, the clock or the machine's typefaces.
"""

from kit.papers.cautions import usual_cautions
from kit.papers.defect_tag import defect_tag_pdf
from kit.papers.issue_note import issue_note_pdf
from kit.papers.load_list import load_list_pdf
from kit.papers.return_note import return_note_pdf
from kit.papers.stamp import LedgerMark, Stamp
from kit.papers.values import (
    CountedLot,
    DefectTag,
    IssueNote,
    JobHead,
    LoadList,
    NextStep,
    Outcome,
    Piece,
    ReturnedLot,
    ReturnedPiece,
    ReturnNote,
    Short,
    ShortIssue,
    StillOut,
    TagSheet,
)

__all__ = [
    "CountedLot",
    "DefectTag",
    "IssueNote",
    "JobHead",
    "LedgerMark",
    "LoadList",
    "NextStep",
    "Outcome",
    "Piece",
    "ReturnNote",
    "ReturnedLot",
    "ReturnedPiece",
    "Short",
    "ShortIssue",
    "Stamp",
    "StillOut",
    "TagSheet",
    "defect_tag_pdf",
    "issue_note_pdf",
    "load_list_pdf",
    "return_note_pdf",
    "usual_cautions",
]
