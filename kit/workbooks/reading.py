"""Opening a register file: a workbook (.xlsx, .ods) or a .csv, or one sentence on why it cannot be read."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Final

import python_calamine

from kit.workbooks.archive import MOST_FILE_BYTES, Archive, locked
from kit.workbooks.csv_file import CsvFile
from kit.workbooks.faults import Fault, Faults, RegisterFileError
from kit.workbooks.register_sheet import NumberedRows, RegisterSheet
from kit.workbooks.sheets import SHEETS, SheetSpec, nearest_name, sheet_called
from kit.workbooks.survey import (
    NOT_COMPUTED,
    Survey,
    cell_name,
    column_letters,
    survey_ods,
    survey_xlsx_sheet,
    xlsx_sheets,
)

MOST_ROWS: Final = 200_000
"""Rows of one sheet, headings included."""
MOST_COLUMNS: Final = 200
MOST_CELLS: Final = 6_000_000
"""All sheets together, each reckoned as a full block; python-calamine keeps 32 bytes for each, or 192 MB."""

_ODS_TYPES: Final = (
    b"application/vnd.oasis.opendocument.spreadsheet",
    b"application/vnd.oasis.opendocument.spreadsheet-template",
)
_OLE: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ZIP: Final = b"PK\x03\x04"
_XLSX_ERRORS: Final = {"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", NOT_COMPUTED}
_SAVE_AS: Final = "Save it from the spreadsheet program as .xlsx, .ods or .csv and load that."


@dataclass(slots=True)
class RegisterFile:
    """A register file as read: the known sheets by name, in the register's order, and what is wrong already.

    The faults are those of the file's form: headings, errors in cells, merged cells. What the values mean is
    for the caller to judge, and to add to the same `faults` and `warnings`.
    """

    name: str
    sheets: dict[str, RegisterSheet] = field(default_factory=dict)
    faults: Faults = field(default_factory=Faults)
    warnings: Faults = field(default_factory=Faults)


def open_register(path: str | os.PathLike[str], name: str | None = None) -> RegisterFile:
    """Read a register workbook (.xlsx, .ods) or a .csv, whose one sheet its headings tell.

    `name` is what the file is called towards people, where it differs from the path: an upload that lies in
    a temporary file. Raises RegisterFileError, with one sentence, for a file that cannot be read at all.
    """
    path = Path(path)
    name = path.name if name is None else Path(name).name
    _check_is_file(path, name)
    ending = Path(name).suffix.lower()
    with path.open("rb") as file:
        head = file.read(8)
    _check_content(path, name, ending, head)
    if ending == ".csv":
        return _read_csv(path, name)
    with Archive(path, name) as archive:
        _check_kind_of_workbook(archive, name, ending)
        surveys = _survey_xlsx(archive) if ending == ".xlsx" else survey_ods(archive)
        already = {"content.xml"} if ending == ".ods" else set()
        for entry in archive.entries():
            if entry not in already:
                for _ in archive.pieces(entry):
                    pass
    return _read_workbook(path, name, surveys)


def _check_is_file(path: Path, name: str) -> None:
    try:
        size = path.stat().st_size
        if path.is_file():
            path.open("rb").close()
    except FileNotFoundError as error:
        raise RegisterFileError(f"There is no file {path}. Check the name and the folder.") from error
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise RegisterFileError(f"{name} cannot be opened: {why}.") from error
    if path.is_dir():
        raise RegisterFileError(f"{path} is a folder. Give the workbook itself.")
    if not path.is_file():
        raise RegisterFileError(f"{path} is not an ordinary file. Give a workbook that lies on a disk.")
    if size == 0:
        raise RegisterFileError(f"{name} is empty (0 bytes). Ask for the file again, or save it again.")
    if size > MOST_FILE_BYTES:
        raise RegisterFileError(
            f"{name} has {size / 1024**2:,.0f} MB, and {MOST_FILE_BYTES // 1024**2} MB is the limit. Remove "
            "pictures and other sheets, or split the register into several files."
        )


def _check_content(path: Path, name: str, ending: str, head: bytes) -> None:
    """Hold the first bytes against the ending; a name proves nothing."""
    if ending not in (".xlsx", ".ods", ".csv"):
        what = f"a file ending in {ending}" if ending else "a file without an ending"
        raise RegisterFileError(f"{name} is {what}, which is not read as a register. {_SAVE_AS}")
    if head.startswith(b"%PDF"):
        raise RegisterFileError(f"{name} is a PDF by its content, not a spreadsheet. {_SAVE_AS}")
    if head == _OLE:
        # Both old .xls workbooks and locked .xlsx ones come in this wrapping.
        if "EncryptedPackage".encode("utf-16-le") in path.read_bytes():
            raise locked(name)
        raise RegisterFileError(f"{name} is an old .xls workbook by its content. {_SAVE_AS}")
    if ending == ".csv" and head.startswith(_ZIP):
        raise RegisterFileError(f"{name} is a workbook or another zip archive by its content. {_SAVE_AS}")
    if ending != ".csv" and not head.startswith(_ZIP):
        raise RegisterFileError(
            f"{name} is not a workbook by its content, whatever its name says. {_SAVE_AS}"
        )


def _check_kind_of_workbook(archive: Archive, name: str, ending: str) -> None:
    is_ods = "mimetype" in archive and archive.read("mimetype").strip() in _ODS_TYPES
    is_xlsx = "xl/workbook.xml" in archive and "xl/_rels/workbook.xml.rels" in archive
    if "encrypted-package" in archive or (
        "meta-inf/manifest.xml" in archive and b"encryption-data" in archive.read("meta-inf/manifest.xml")
    ):
        raise locked(name)
    if ending == ".xlsx" and not is_xlsx:
        what = "an OpenDocument spreadsheet: rename it to end in .ods" if is_ods else "no .xlsx workbook"
        raise RegisterFileError(f"{name} is {what}. Its content decides, not its name. {_SAVE_AS}")
    if ending == ".ods" and not is_ods:
        what = "an .xlsx workbook: rename it to end in .xlsx" if is_xlsx else "no OpenDocument spreadsheet"
        raise RegisterFileError(f"{name} is {what}. Its content decides, not its name. {_SAVE_AS}")
    if ending == ".ods" and "content.xml" not in archive:
        raise archive.damaged()


def _survey_xlsx(archive: Archive) -> list[Survey]:
    """Known sheets looked over, the others by title alone, because they are never laid out."""
    surveys = []
    for title, entry in xlsx_sheets(archive).items():
        if entry not in archive:
            raise archive.damaged()
        known = sheet_called(title) is not None
        survey = survey_xlsx_sheet(archive, entry, title) if known else Survey(title)
        _check_errors(survey)
        surveys.append(survey)
    return surveys


def _check_errors(survey: Survey) -> None:
    """Refuse errors that no spreadsheet program saves today, because python-calamine gives up the sheet."""
    odd = [f"{cell_name(*at)} ({error})" for at, error in survey.errors.items() if error not in _XLSX_ERRORS]
    if odd:
        raise RegisterFileError(
            f"Sheet {survey.title} holds errors of an unknown sort, in {', '.join(odd[:5])}"
            f"{' and more' if len(odd) > 5 else ''}. Type the values there instead, save and load again."
        )


def _read_workbook(path: Path, name: str, surveys: list[Survey]) -> RegisterFile:
    known = _known_sheets(name, surveys)
    for survey in surveys:
        _check_reach(survey)
    if sum(survey.last_row * survey.last_column for survey in surveys) > MOST_CELLS:
        raise RegisterFileError(
            f"{name} has more than {MOST_CELLS:,} cells in its sheets, with the blank ones between filled "
            "ones. Split the register into several files."
        )
    register = RegisterFile(name)
    chosen: dict[str, Survey] = {}
    for survey in surveys:
        spec = known.get(survey.title)
        if spec is None:
            register.warnings.add(Fault(survey.title, None, None, None, _why_unknown(survey.title)))
        elif spec.name in chosen:
            why = (
                f'The sheet is there twice, as "{chosen[spec.name].title}" and as "{survey.title}": keep one.'
            )
            register.faults.add(Fault(spec.name, None, None, survey.title, why))
        else:
            chosen[spec.name] = survey
    laid_out = _lay_out(path, name, [survey.title for survey in chosen.values()])
    for spec in SHEETS:
        if found := chosen.get(spec.name):
            source = partial(_numbered, laid_out[found.title])
            register.sheets[spec.name] = RegisterSheet(
                spec, source, found, register.faults, register.warnings
            )
    return register


def _read_csv(path: Path, name: str) -> RegisterFile:
    file = CsvFile(path, name)
    _check_reach(file.survey)
    register = RegisterFile(name)
    register.sheets[file.spec.name] = RegisterSheet(
        file.spec, file.records, file.survey, register.faults, register.warnings
    )
    return register


def _known_sheets(name: str, surveys: Iterable[Survey]) -> dict[str, SheetSpec]:
    """The sheets that the register knows, by title; RegisterFileError if there is none of them."""
    titles = [survey.title for survey in surveys]
    known = {title: spec for title in titles if (spec := sheet_called(title))}
    if known:
        return known
    near = [(title, meant) for title in titles if (meant := nearest_name(title, _sheet_names()))]
    hint = "".join(f' Rename "{title}" to {meant} if that is meant.' for title, meant in near[:3])
    found = ", ".join(f'"{title}"' for title in titles[:8]) or "none"
    raise RegisterFileError(
        f"{name} has no sheet of a register. Its sheets: {found}. A register has sheets called "
        f"{', '.join(_sheet_names())}.{hint}"
    )


def _sheet_names() -> list[str]:
    return [sheet.name for sheet in SHEETS]


def _why_unknown(title: str) -> str:
    meant = nearest_name(title, _sheet_names())
    hint = f" Rename it {meant} if that is meant." if meant else ""
    return f"The register has no sheet of this name, so it is not read.{hint}"


def _check_reach(survey: Survey) -> None:
    if survey.last_column > MOST_COLUMNS:
        raise RegisterFileError(
            f"Sheet {survey.title} has {survey.last_column:,} columns (the last that is filled is "
            f"{column_letters(survey.last_column)}), and {MOST_COLUMNS} is the most. Delete what stands "
            "right of the table."
        )
    if survey.last_row > MOST_ROWS:
        raise RegisterFileError(
            f"Sheet {survey.title} reaches to row {survey.last_row:,}, and {MOST_ROWS:,} is the most. Delete "
            "what stands below the table, or split the register into several files."
        )


def _lay_out(path: Path, name: str, titles: list[str]) -> dict[str, python_calamine.CalamineSheet]:
    try:
        with python_calamine.load_workbook(path) as workbook:
            return {title: workbook.get_sheet_by_name(title) for title in titles}
    except (KeyboardInterrupt, SystemExit, MemoryError):
        raise
    except BaseException as error:  # A panic in python-calamine is not an Exception.
        raise RegisterFileError(
            f"{name} cannot be read as a workbook ({error}). Open it in a spreadsheet program, save it again "
            "under a new name and load that."
        ) from error


def _numbered(sheet: python_calamine.CalamineSheet) -> NumberedRows:
    """Rows from row 1 on; python-calamine leaves out blank columns on the left, but no blank rows on top."""
    if sheet.start is None:
        return
    left = [""] * sheet.start[1]
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        yield number, [*left, *cells]
