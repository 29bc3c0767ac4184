"""A .csv file as a sheet: its encoding and delimiter found, its sheet recognised by the headings."""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from kit.workbooks.cell_text import clipped, is_blank, tidy
from kit.workbooks.faults import RegisterFileError
from kit.workbooks.sheets import SHEETS, SheetSpec
from kit.workbooks.survey import Survey

DELIMITERS: Final = (",", ";", "\t")
_PIECE: Final = 256 * 1024


class CsvFile:
    """A .csv file that has been read through once: `spec` is its sheet, `survey` how far it reaches.

    UTF-8 with or without a mark, UTF-16 with one, else Windows-1252; commas, semicolons or tabs. Raises
    RegisterFileError if it is no text, if its quotes do not close, or if its headings name no one sheet.
    """

    def __init__(self, path: Path, name: str) -> None:
        self._path = path
        self._name = name
        self._encoding = self._find_encoding()
        self._named_delimiter = False
        self._delimiter = self._find_delimiter()
        self.spec = self._recognise(self._headings(self._delimiter))
        self.survey = Survey(self.spec.name)
        for number, record in self.records():
            if record:
                self.survey.reach(number, len(record))

    def records(self) -> Iterator[tuple[int, list[str]]]:
        """Each row with its number as a spreadsheet shows it: a quoted line break does not begin a row."""
        yield from self._records(self._delimiter)

    def _records(self, delimiter: str) -> Iterator[tuple[int, list[str]]]:
        number = 0
        with self._path.open(encoding=self._encoding, newline="") as lines:
            if self._named_delimiter:
                next(lines)  # A line sep=; speaks to the spreadsheet program, which does not show it.
            try:
                for number, record in enumerate(csv.reader(lines, delimiter=delimiter, strict=True), start=1):
                    yield number, record
            except csv.Error as error:
                raise RegisterFileError(
                    f"{self._name} cannot be read from row {number + 1} on ({error}). A cell that begins "
                    "with a double quote must end with one, and a quote inside it is written twice."
                ) from error

    def _find_encoding(self) -> str:
        with self._path.open("rb") as file:
            head = file.read(4)
        if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            candidates = ["utf-16"]
        else:
            candidates = ["utf-8-sig", "cp1252"]
        for encoding in candidates:
            if self._decodes_as(encoding):
                return encoding
        raise RegisterFileError(
            f"{self._name} is not text that can be read. Save it from the spreadsheet program as CSV UTF-8, "
            "or load the .xlsx or .ods itself."
        )

    def _decodes_as(self, encoding: str) -> bool:
        try:
            with self._path.open(encoding=encoding, newline="") as text:
                while piece := text.read(_PIECE):
                    if "\0" in piece:
                        return False
        except UnicodeError:
            return False
        return True

    def _find_delimiter(self) -> str:
        with self._path.open(encoding=self._encoding, newline="") as lines:
            first = lines.readline(8).strip()
        if first.startswith("sep=") and first[4:] in DELIMITERS:
            self._named_delimiter = True
            return first[4:]
        return max(DELIMITERS, key=lambda delimiter: _best_score(self._headings(delimiter)))

    def _headings(self, delimiter: str) -> list[str]:
        try:
            for _, record in self._records(delimiter):
                if not all(is_blank(cell) for cell in record):
                    return [tidy(cell) for cell in record]
        except RegisterFileError:
            if delimiter == DELIMITERS[0]:
                raise
        return []

    def _recognise(self, headings: list[str]) -> SheetSpec:
        if not headings:
            raise RegisterFileError(
                f"{self._name} has no rows. Its first row must be the headings of a sheet."
            )
        best = _best_score(headings)
        given = clipped(", ".join(headings))
        found = [sheet for sheet in SHEETS if _score(sheet, headings) == best]
        if best[0] == 0:
            items = SHEETS[0]
            raise RegisterFileError(
                f"{self._name} begins with no headings of the register (found: {given}). Its first row must "
                f"be the headings of one sheet, such as {', '.join(items.required)} of {items.name}."
            )
        if len(found) > 1:
            raise RegisterFileError(
                f"{self._name} may be {' or '.join(sheet.name for sheet in found)} by its headings "
                f"({given}). Give it all the headings that its sheet must have: "
                + "; ".join(f"{sheet.name}: {', '.join(sheet.required)}" for sheet in found)
                + "."
            )
        return found[0]


def _score(sheet: SheetSpec, headings: list[str]) -> tuple[int, int]:
    """How many of the headings the sheet knows, then how few of those that it must have are missing.

    Without any that it must have the rest say nothing: `name` is a heading in files of every sort.
    """
    known = {sheet.column_of_heading(heading) for heading in headings} - {None}
    missing = set(sheet.required) - known
    return 0 if len(missing) == len(sheet.required) else len(known), -len(missing)


def _best_score(headings: list[str]) -> tuple[int, int]:
    return max(_score(sheet, headings) for sheet in SHEETS)
