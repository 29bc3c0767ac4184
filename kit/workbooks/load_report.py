"""What loading a register did, or would do, and what it found wrong."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from kit.workbooks.faults import Faults

RowOutcome = Literal["new", "changed", "unchanged"]


@dataclass(frozen=True, slots=True)
class LoadedRow:
    """What became of one row: `key` is its tag, reference or name, `what` the details that changed."""

    sheet: str
    row: int
    key: str
    outcome: RowOutcome
    what: str = ""


@dataclass(slots=True)
class LoadReport:
    """What loading did, or would do. `loaded` is True only when it was written."""

    loaded: bool = False
    faults: Faults = field(default_factory=Faults)
    warnings: Faults = field(default_factory=Faults)
    rows: list[LoadedRow] = field(default_factory=list)

    def count(self, outcome: RowOutcome) -> int:
        return sum(row.outcome == outcome for row in self.rows)

    def as_dict(self) -> dict[str, Any]:
        return {
            "loaded": self.loaded,
            "new": self.count("new"),
            "changed": self.count("changed"),
            "unchanged": self.count("unchanged"),
            "faults": self.faults.as_dicts(),
            "warnings": self.warnings.as_dicts(),
        }
