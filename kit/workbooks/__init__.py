"""Reading registers in from workbooks, and writing spreadsheets out."""

from kit.workbooks.cell_text import UNREADABLE
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault, Faults, RegisterFileError
from kit.workbooks.look_alikes import look_alike_key
from kit.workbooks.reading import RegisterFile, open_register
from kit.workbooks.register_sheet import RegisterSheet, Row
from kit.workbooks.sheets import SHEETS, ColumnSpec, SheetSpec, nearest_name
from kit.workbooks.writing import Column, write_error_workbook, write_table_workbook

__all__ = [
    "SHEETS",
    "UNREADABLE",
    "Column",
    "ColumnSpec",
    "Fault",
    "Faults",
    "RegisterFile",
    "RegisterFileError",
    "RegisterSheet",
    "Row",
    "RowReader",
    "SheetSpec",
    "look_alike_key",
    "nearest_name",
    "open_register",
    "write_error_workbook",
    "write_table_workbook",
]
