"""One sheet of a register file: its headings judged, its rows given out with the row numbers people see."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from kit.workbooks.cell_text import UNREADABLE, CellValue, Mark, clipped, is_blank, shown, tidy
from kit.workbooks.faults import Fault, Faults
from kit.workbooks.sheets import SheetSpec, folded_name, nearest_name
from kit.workbooks.survey import ERROR_TEXT, NOT_COMPUTED, Merge, Survey, cell_name, column_letters

_ERROR_MEANINGS: Final = {
    "#DIV/0!": "a division by zero",
    "#N/A": "a value that was not found",
    "#NAME?": "a name that the spreadsheet does not know",
    "#NULL!": "ranges that do not meet",
    "#NUM!": "a number that cannot be worked out",
    "#REF!": "a cell that is gone",
    "#VALUE!": "a value of the wrong kind",
}
NumberedRows = Iterator[tuple[int, Sequence[CellValue]]]
"""Rows with their numbers as the spreadsheet shows them, cells from column A on."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row that is not blank: its number, and the cell of each column that the sheet has.

    A blank cell is None. UNREADABLE stands where a fault is reported already: an error in the cell, or a
    required column that is missing. A column that the sheet does not have is not in `values`.
    """

    number: int
    values: dict[str, CellValue | Mark | None]


class RegisterSheet:
    """A known sheet as it stands in a file.

    `columns` maps each column found to its place, counted from 1. `row_count` is how many rows there may be
    at most, for showing progress. `heading_row` is 0 if the sheet is empty.
    """

    def __init__(
        self,
        spec: SheetSpec,
        source: Callable[[], NumberedRows],
        survey: Survey,
        faults: Faults,
        warnings: Faults,
    ) -> None:
        self.spec = spec
        self.name = spec.name
        self.heading_row = 0
        self.columns: dict[str, int] = {}
        self._source = source
        self._survey = survey
        self._faults = faults
        self._warnings = warnings
        self._unreadable: set[str] = set()
        self._headings: dict[int, str] = {}
        for number, cells in source():
            if not all(is_blank(cell) for cell in cells):
                self._read_headings(number, cells)
                break
        if self.heading_row:
            self._report_cell_errors()
            self._report_merged_rows()
        else:
            self._fault(
                None, None, None, f"The sheet is empty. {self._what_it_must_have()} Or remove the sheet."
            )

    @property
    def unreadable(self) -> frozenset[str]:
        """Columns that cannot be read in any row: missing though required, or there twice."""
        return frozenset(self._unreadable)

    @property
    def row_count(self) -> int:
        """Rows below the headings, blank ones included."""
        return max(self._survey.last_row - self.heading_row, 0)

    def rows(self) -> Iterator[Row]:
        """The rows below the headings that are not blank in every known column. May be called again."""
        places = [(name, place - 1) for name, place in self.columns.items()]
        marks = dict.fromkeys(self._unreadable, UNREADABLE)
        errors = self._survey.errors
        bare = set(range(1, self._survey.last_column + 1)) - self._headings.keys()
        for number, cells in self._source():
            if number <= self.heading_row:
                continue
            values: dict[str, CellValue | Mark | None] = {}
            blank = True
            for name, at in places:
                cell = cells[at] if at < len(cells) else ""
                if errors and (number, at + 1) in errors:
                    values[name] = UNREADABLE
                    blank = False
                elif cell == "" or is_blank(cell):
                    values[name] = None
                else:
                    blank = False
                    values[name] = self._unless_error_text(number, name, cell)
            if bare:
                self._warn_of_bare_columns(number, cells, bare)
            if not blank:
                values.update(marks)
                yield Row(number, values)

    def _read_headings(self, number: int, cells: Sequence[CellValue]) -> None:
        self.heading_row = number
        for place, cell in enumerate(cells, start=1):
            if error := self._survey.errors.get((number, place)):
                self._headings[place] = error
                self._fault(number, column_letters(place), error, "This heading is an error: type its name.")
            elif not is_blank(cell):
                self._read_heading(place, tidy(shown(cell)))
        missing = [name for name in self.spec.required if name not in self.columns]
        self._unreadable.update(missing)
        if not self._report_merged_headings(missing):
            for name in missing:
                self._fault(number, name, None, self._why_missing(name))

    def _read_heading(self, place: int, heading: str) -> None:
        self._headings[place] = heading
        name = self.spec.column_of_heading(heading)
        if name is None:
            meant = nearest_name(heading, [one for one in self.spec.column_names if one not in self.columns])
            hint = f' Rename it "{meant}" if that is meant.' if meant else ""
            why = f"{self.name} has no column of this name, so it is not read.{hint}"
            self._warnings.add(Fault(self.name, self.heading_row, clipped(heading), None, why))
        elif name in self.columns:
            first = column_letters(self.columns[name])
            self._unreadable.add(name)
            self._fault(
                self.heading_row,
                name,
                heading,
                f"This column stands twice, in {first} and {column_letters(place)}: remove or rename one.",
            )
        else:
            self.columns[name] = place

    def _report_merged_headings(self, missing: Sequence[str]) -> bool:
        """Report merged headings; whether the cells that lost their own heading explain what is missing."""
        merges = [
            merge
            for merge in self._survey.merges
            if merge.first_row <= self.heading_row <= merge.last_row and merge.first_column in self._headings
        ]
        explained = sum(merge.last_column - merge.first_column for merge in merges) >= len(missing) > 0
        hint = (
            f" So {' and '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing."
            if explained
            else ""
        )
        for merge in merges:
            heading = self._headings[merge.first_column]
            self._fault(
                self.heading_row,
                self.spec.column_of_heading(heading) or clipped(heading),
                heading,
                f"The cells {merge} are merged into one heading: unmerge them, and give each column its own "
                f"heading in one row. A title above the table must go.{hint}",
            )
        return explained

    def _report_merged_rows(self) -> None:
        names = {place: name for name, place in self.columns.items()}
        by_row: dict[int, list[tuple[Merge, str]]] = {}
        for merge in self._survey.merges:
            covered = [names[at] for at in range(merge.first_column, merge.last_column + 1) if at in names]
            if merge.first_row > self.heading_row and covered:
                by_row.setdefault(merge.first_row, []).append((merge, covered[0]))
        if not by_row:
            return
        for number, cells in self._source():
            for merge, name in by_row.get(number, ()):
                cell = cells[merge.first_column - 1] if merge.first_column <= len(cells) else ""
                if not is_blank(cell):
                    why = (
                        f"The cells {merge} are merged, so only the first of them holds the value: unmerge "
                        "them and write the value in each row that it is for."
                    )
                    self._fault(number, name, shown(cell), why)

    def _report_cell_errors(self) -> None:
        names = {place: name for name, place in self.columns.items()}
        for (row, place), error in self._survey.errors.items():
            if row > self.heading_row and place in names:
                self._report_error(row, names[place], error)

    def _report_error(self, row: int, column: str, error: str) -> None:
        if error == NOT_COMPUTED:
            why = (
                "The formula in this cell has no result yet: open the file in a spreadsheet program and save "
                "it, or type the value."
            )
            self._fault(row, column, None, why)
            return
        meaning = f" ({_ERROR_MEANINGS[error]})" if error in _ERROR_MEANINGS else ""
        why = f"The cell holds an error{meaning} and not a value: mend its formula, or type the value."
        self._fault(row, column, error, why)

    def _unless_error_text(self, row: int, column: str, cell: CellValue) -> CellValue | Mark:
        """The cell, unless it is the text of an error: in a .csv, or pasted as text."""
        if isinstance(cell, str) and cell[0] in "#E" and ERROR_TEXT.fullmatch(cell):
            self._report_error(row, column, cell)
            return UNREADABLE
        return cell

    def _warn_of_bare_columns(self, row: int, cells: Sequence[CellValue], bare: set[int]) -> None:
        for place in sorted(bare):
            cell = cells[place - 1] if place <= len(cells) else ""
            if not is_blank(cell):
                bare.discard(place)
                first = cell_name(row, place)
                why = f"This column has no heading, so what stands in {first} and below is not read."
                self._warnings.add(Fault(self.name, row, column_letters(place), shown(cell), why))

    def _why_missing(self, name: str) -> str:
        unknown = [text for text in self._headings.values() if not self.spec.column_of_heading(text)]
        by_key = {folded_name(text): text for text in unknown}
        near = nearest_name(name, by_key.values())
        hint = f' Is "{clipped(near)}" meant? Then rename it.' if near else ""
        return (
            f"The column {name} is missing. {self._what_it_must_have()} Row {self.heading_row} is taken for "
            f"the headings, as the first that is not empty.{hint}"
        )

    def _what_it_must_have(self) -> str:
        return f"{self.name} must have the headings {', '.join(self.spec.required)}."

    def _fault(self, row: int | None, column: str | None, value: str | None, why: str) -> None:
        self._faults.add(Fault(self.name, row, column, value if value is None else clipped(value), why))
