"""What a workbook's XML says and python-calamine does not: a sheet's reach, its errors, its merged cells.

python-calamine lays a sheet out as one solid block from its first to its last filled cell, so a single stray
cell in the far corner would take 512 GB; it gives an error as an empty cell, in .ods as well; and it knows no
merged cells in .ods. One pass over the XML answers all three before python-calamine opens the file.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Final
from xml.parsers import expat

from kit.workbooks.archive import Archive
from kit.workbooks.faults import MOST_FAULTS, RegisterFileError

Attributes = dict[str, str]

ERROR_TEXT: Final = re.compile(r"#(?:DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!)|Err:5\d\d")
"""How a spreadsheet shows an error. #SPILL! and its like are kept in the file as #VALUE!."""
NOT_COMPUTED: Final = "not computed"
"""Stands for the error of a formula that no spreadsheet program has worked out yet."""

_COLUMN: Final = re.compile(r"[A-Z]{1,3}")
_REFERENCE: Final = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")


@dataclass(frozen=True, slots=True)
class Merge:
    """A block of cells merged into one, rows and columns counted from 1, both ends included."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int

    def __str__(self) -> str:
        return f"{cell_name(self.first_row, self.first_column)}:{cell_name(self.last_row, self.last_column)}"


@dataclass(slots=True)
class Survey:
    """A sheet's title and reach; the error of each cell that has one, by (row, column); its merged cells.

    Rows and columns count from 1; a sheet without content reaches to row 0, column 0.
    """

    title: str
    last_row: int = 0
    last_column: int = 0
    errors: dict[tuple[int, int], str] = field(default_factory=dict)
    merges: list[Merge] = field(default_factory=list)

    def reach(self, row: int, column: int) -> None:
        """Take a filled cell into account."""
        if row > self.last_row:
            self.last_row = row
        if column > self.last_column:
            self.last_column = column

    def add_error(self, row: int, column: int, error: str) -> None:
        """Note the error of a cell; RegisterFileError when there are more than anyone can mend by hand."""
        if len(self.errors) >= MOST_FAULTS:
            raise RegisterFileError(
                f"Sheet {self.title} has over {MOST_FAULTS:,} cells with errors: mend its formulas first."
            )
        self.errors[row, column] = error


def column_letters(column: int) -> str:
    """The letters over a column: 1 is A, 27 is AA."""
    letters = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """The column under the letters: A is 1, AA is 27; ValueError if there can be no such column."""
    if not _COLUMN.fullmatch(letters):
        raise ValueError(f"{letters} is no column")
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


def cell_name(row: int, column: int) -> str:
    """A cell as a spreadsheet names it: row 5, column 2 is B5."""
    return f"{column_letters(column)}{row}"


def xlsx_sheets(archive: Archive) -> dict[str, str]:
    """The worksheets of an .xlsx workbook: title to the archive's entry, in the order of the tabs."""
    targets: dict[str, str] = {}
    sheets: dict[str, str] = {}

    def relationship(name: str, attributes: Attributes) -> None:
        if _local(name) == "Relationship" and attributes.get("Type", "").endswith("/worksheet"):
            target = posixpath.join("/xl", attributes["Target"].replace("\\", "/"))
            targets[attributes["Id"]] = posixpath.normpath(target).lstrip("/").lower()

    def sheet(name: str, attributes: Attributes) -> None:
        if _local(name) == "sheet":
            link = next((value for key, value in attributes.items() if key.endswith(":id")), "")
            if link in targets:
                sheets[attributes["name"]] = targets[link]

    _parse(archive, "xl/_rels/workbook.xml.rels", relationship)
    _parse(archive, "xl/workbook.xml", sheet)
    return sheets


def survey_xlsx_sheet(archive: Archive, entry: str, title: str) -> Survey:
    """Look over one worksheet of an .xlsx workbook."""
    reader = _XlsxSheetReader(Survey(title))
    _parse(archive, entry, reader.start, reader.characters)
    reader.end_cell()
    return reader.survey


def survey_ods(archive: Archive) -> list[Survey]:
    """Look over all sheets of an .ods workbook, in the order of the tabs."""
    reader = _OdsReader()
    _parse(archive, "content.xml", reader.start, reader.characters)
    reader.end_cell()
    return reader.surveys


class _XlsxSheetReader:
    """Follows <row>, <c>, <f>, <v>, <is> and <mergeCell>. Rows and cells without r follow the one before."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self._row = self._column = 0
        self._type: str | None = None
        self._formula = False
        self._text: str | None = None
        self._locals: dict[str, str] = {}
        self._columns: dict[str, int] = {}

    def start(self, name: str, attributes: Attributes) -> None:
        local = self._locals.get(name) or self._locals.setdefault(name, _local(name))
        if local == "c":
            self.end_cell()
            self._type = attributes.get("t")
            self._start_cell(attributes.get("r"))
        elif local == "v" or local == "is":
            self.survey.reach(self._row, self._column)
            if self._type == "e" or (self._formula and self._type is None):
                self._text = ""
        elif local == "f":
            self._formula = True
        elif local == "row":
            self.end_cell()
            self._row = int(attributes["r"]) if "r" in attributes else self._row + 1
            self._column = 0
        elif local == "mergeCell":
            first, _, last = attributes["ref"].partition(":")
            self.survey.merges.append(Merge(*_row_and_column(first), *_row_and_column(last or first)))

    def characters(self, text: str) -> None:
        if self._text is not None:
            self._text += text

    def end_cell(self) -> None:
        if self._type == "e":
            self.survey.add_error(self._row, self._column, (self._text or "").strip() or "#VALUE!")
        elif self._formula and self._type is None and not (self._text or "").strip():
            self.survey.add_error(self._row, self._column, NOT_COMPUTED)
        self._type, self._formula, self._text = None, False, None

    def _start_cell(self, reference: str | None) -> None:
        if reference is None:
            self._column += 1
            return
        letters = reference.rstrip("0123456789")
        self._column = self._columns.get(letters) or self._columns.setdefault(letters, column_number(letters))
        if int(reference[len(letters) :]) != self._row:
            raise ValueError(f"cell {reference} stands in row {self._row}")


class _OdsReader:
    """Follows tables, rows and cells of content.xml with their repeats; a note's text is not its cell's."""

    def __init__(self) -> None:
        self.surveys: list[Survey] = []
        self._row = self._next_row = 1
        self._column = self._next_column = 1
        self._cell: Attributes | None = None
        self._text: str | None = None
        self._in_note = False

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "table:table-cell" or name == "table:covered-table-cell":
            self.end_cell()
            self._cell = attributes
            self._column = self._next_column
            self._next_column += int(attributes.get("table:number-columns-repeated", 1))
            if "office:value-type" in attributes:
                self._reach()
        elif name == "text:p":
            if self._cell is not None:
                self._reach()
                if "table:formula" in self._cell and not self._in_note:
                    self._text = self._text or ""
        elif name == "table:table-row":
            self.end_cell()
            self._row, self._column, self._next_column = self._next_row, 1, 1
            self._next_row += int(attributes.get("table:number-rows-repeated", 1))
        elif name == "table:table":
            self.end_cell()
            self.surveys.append(Survey(attributes["table:name"]))
            self._row = self._next_row = 1
        elif name == "office:annotation":
            self._in_note = True

    def characters(self, text: str) -> None:
        if self._text is not None:
            self._text += text

    def end_cell(self) -> None:
        cell, text = self._cell, (self._text or "").strip()
        self._cell, self._text, self._in_note = None, None, False
        if cell is None:
            return
        last_row = self._row + int(cell.get("table:number-rows-spanned", 1)) - 1
        last_column = self._column + int(cell.get("table:number-columns-spanned", 1)) - 1
        if last_row > self._row or last_column > self._column:
            self.surveys[-1].merges.append(Merge(self._row, self._column, last_row, last_column))
        if "table:formula" in cell:
            self._judge_formula(cell, text)

    def _judge_formula(self, cell: Attributes, text: str) -> None:
        if cell.get("calcext:value-type") == "error" or ERROR_TEXT.fullmatch(text):
            error = text or "#VALUE!"
        elif "office:value-type" not in cell and not text:
            error = NOT_COMPUTED
        else:
            return
        for row in range(self._row, self._next_row):
            for column in range(self._column, self._next_column):
                self.surveys[-1].add_error(row, column, error)

    def _reach(self) -> None:
        self.surveys[-1].reach(self._next_row - 1, self._next_column - 1)


def _row_and_column(reference: str) -> tuple[int, int]:
    found = _REFERENCE.fullmatch(reference.replace("$", ""))
    if not found:
        raise ValueError(f"{reference} names no cell")
    return int(found[2]), column_number(found[1])


def _local(name: str) -> str:
    return name.rpartition(":")[2]


def _parse(
    archive: Archive,
    entry: str,
    start: Callable[[str, Attributes], None],
    characters: Callable[[str], None] | None = None,
) -> None:
    """Run the XML of an entry through the handlers; RegisterFileError if it is missing or not well formed."""
    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    parser.CharacterDataHandler = characters
    parser.buffer_text = True
    # No spreadsheet program writes a document type; it only serves to blow entities up.
    parser.StartDoctypeDeclHandler = _refuse_document_type
    try:
        for piece in archive.pieces(entry):
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except RegisterFileError:
        raise
    except (expat.ExpatError, ValueError, KeyError, IndexError) as error:
        raise archive.damaged() from error


def _refuse_document_type(*_: Any) -> None:
    raise ValueError("a document type in a workbook")
