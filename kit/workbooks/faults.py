"""What is wrong in a register file: one fault for each cell, and one sentence for a file beyond reading."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from kit.workbooks.sheets import SHEETS, sheet_called

MOST_FAULTS: Final = 100_000
"""How many faults one collector keeps; further ones are counted only, so that memory stays bounded."""

_LAST: Final = 1_000_000_000


class RegisterFileError(ValueError):
    """A file that cannot be read as a register at all. Its text is one sentence for a person."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong, or worth a warning, and where: row as the spreadsheet shows it, column by heading."""

    sheet: str
    row: int | None
    column: str | None
    value: str | None
    why: str

    def as_dict(self) -> dict[str, str | int | None]:
        """The shape that `load_register --format json` prints."""
        return {
            "sheet": self.sheet,
            "row": self.row,
            "column": self.column,
            "value": self.value,
            "why": self.why,
        }

    def __str__(self) -> str:
        """For example: Items row 17, use_by "31/02/2027": There is no day 31 in February 2027."""
        where = self.sheet if self.row is None else f"{self.sheet} row {self.row}"
        if self.column is not None:
            where += f", {self.column}"
        if self.value is not None:
            where += f' "{self.value}"'
        return f"{where}: {self.why}"


class Faults:
    """Collects faults (or warnings), each once, and gives them back in the order of the workbook."""

    def __init__(self, faults: Iterable[Fault] = ()) -> None:
        self._faults: dict[Fault, None] = {}
        self.left_out = 0
        for fault in faults:
            self.add(fault)

    def add(self, fault: Fault) -> None:
        """Keep the fault unless the very same one is kept already; beyond MOST_FAULTS only count it."""
        if fault in self._faults:
            return
        if len(self._faults) >= MOST_FAULTS:
            self.left_out += 1
        else:
            self._faults[fault] = None

    def sorted(self) -> list[Fault]:
        """By sheet and column in the order of the register's sheets, unknown ones last, and by row."""
        return sorted(self._faults, key=_place)

    def as_dicts(self) -> list[dict[str, str | int | None]]:
        """All faults in order, in the shape that `load_register --format json` prints."""
        return [fault.as_dict() for fault in self.sorted()]

    def text_report(self) -> str:
        """One line for each fault in order, and a last one for those that were too many to keep."""
        lines = [str(fault) for fault in self.sorted()]
        if self.left_out:
            lines.append(f"And {self.left_out:,} more, which are not listed.")
        return "\n".join(lines)

    def __iter__(self) -> Iterator[Fault]:
        return iter(self.sorted())

    def __len__(self) -> int:
        return len(self._faults) + self.left_out

    def __bool__(self) -> bool:
        return bool(self._faults)


def _place(fault: Fault) -> tuple[int, str, int, int, str]:
    spec = sheet_called(fault.sheet)
    if spec is None:
        return (len(SHEETS), fault.sheet, fault.row or 0, 0, fault.column or "")
    columns = spec.column_names
    column = columns.index(fault.column) if fault.column in columns else _LAST if fault.column else -1
    return (SHEETS.index(spec), "", fault.row or 0, column, fault.column or "")
