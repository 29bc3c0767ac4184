"""The sheets of a register workbook that inspections load."""

from inspections.workbooks.load_calibrations import CalibrationsLoader
from inspections.workbooks.load_checks import ChecksLoader
from inspections.workbooks.load_hold_tests import HoldTestsLoader
from inspections.workbooks.load_inspections import InspectionsLoader
from inspections.workbooks.load_readings import ReadingsLoader

__all__ = ["CalibrationsLoader", "ChecksLoader", "HoldTestsLoader", "InspectionsLoader", "ReadingsLoader"]
