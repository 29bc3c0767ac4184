"""Reading registers in from workbooks, and writing spreadsheets out."""

from kit.workbooks.cell_text import UNREADABLE
from kit.workbooks.faults import Fault, Faults, RegisterFileError
from kit.workbooks.reading import RegisterFile, open_register
from kit.workbooks.register_sheet import RegisterSheet, Row
from kit.workbooks.sheets import SHEETS, ColumnSpec, SheetSpec

__all__ = [
    "SHEETS",
    "UNREADABLE",
    "ColumnSpec",
    "Fault",
    "Faults",
    "RegisterFile",
    "RegisterFileError",
    "RegisterSheet",
    "Row",
    "SheetSpec",
    "open_register",
]
