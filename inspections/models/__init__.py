"""Checks, the records made under them, and when each is next due."""

from inspections.models.check import Basis, Check, Due, Inspection, UseCall, Verdict

__all__ = ["Basis", "Check", "Due", "Inspection", "UseCall", "Verdict"]
