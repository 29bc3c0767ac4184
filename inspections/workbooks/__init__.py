"""The sheets of a register workbook that inspections load."""

from inspections.workbooks.load_checks import ChecksLoader
from inspections.workbooks.load_inspections import InspectionsLoader

__all__ = ["ChecksLoader", "InspectionsLoader"]
