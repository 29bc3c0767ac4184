"""Bad input to any command: a sentence on standard error, exit 2, and no table and no file touched."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import OperationalError, connection
from openpyxl import Workbook

from kit.management.commands import kit_list as kit_list_command
from kit.models import Reservation
from tests.commands.registers import COMPLETE, SHORT, command_workbook
from tests.commands.running import Said, run
from tests.kit.workbooks.depot_book import dump, loaded
from tests.kit.workbooks.files import ITEMS, xlsx

pytestmark = pytest.mark.django_db


@pytest.fixture
def before(tmp_path: Path) -> Callable[[], None]:
    """A loaded register; calling it fails unless every table is as it was then."""
    assert loaded(command_workbook(tmp_path)).loaded
    tables = dump()

    def unchanged() -> None:
        assert dump() == tables

    return unchanged


def refused(said: Said, *sentences: str) -> None:
    """Exit 2, nothing on standard output, and a last line that says what, and what to do."""
    assert said.code == 2, said
    assert said.out == ""
    assert "Traceback" not in said.err
    last = said.err.strip().splitlines()[-1]
    for sentence in sentences:
        assert sentence in last


@pytest.mark.parametrize(
    ("command", "sentences"),
    [
        (("kit_list", "J-01"), ("There is no job J-01 in the register.", "Did you mean J-1?")),
        (("kit_list", "j-1"), ("There is no job j-1", "Did you mean J-1?")),
        (("kit_list", "zzz"), ("There is no job zzz in the register.",)),
        (("kit_list", ""), ("There is no job",)),
        (("kit_list", "J-1\udcff"), ("J-1\\udcff holds characters that are no text",)),
        (("kit_list",), ("the following arguments are required: JOB",)),
        (
            ("kit_list", "J-1", "--as-of", "31/03/2027"),
            ("'31/03/2027' is not a date: write it as YYYY-MM-DD",),
        ),
        (("kit_list", "J-1", "--as-of", "2027-02-30"), ("'2027-02-30' is not a date",)),
        (("kit_list", "J-1", "--as-of", "20270301"), ("'20270301' is not a date",)),
        (("kit_list", "J-1", "--as-of", "0001-01-01"), ("write a day from 1900 to 2199",)),
        (("kit_list", "J-1", "--as-of", ""), ("'' is not a date",)),
        (("kit_list", "J-1", "--format", "html"), ("invalid choice: 'html'",)),
        (("kit_list", "J-1", "--nothing"), ("unrecognized arguments: --nothing",)),
        (("inspections_due", "--as-of", "tomorrow"), ("'tomorrow' is not a date",)),
        (("inspections_due", "--as-of", "9999-12-31"), ("write a day from 1900 to 2199",)),
        (("inspections_due", "--within", "-1"), ("'-1' is not a number of days",)),
        (("inspections_due", "--within", "soon"), ("write a whole number from 0 to 36525",)),
        (("inspections_due", "--within", "1.5"), ("'1.5' is not a number of days",)),
        (("inspections_due", "--within", "999999999"), ("'999999999' is not a number of days",)),
        (
            ("inspections_due", "--depot", "NYY"),
            ("There is no depot NYY in the register.", "Did you mean NY?"),
        ),
        (("inspections_due", "--depot", "ny"), ("There is no depot ny", "Did you mean NY?")),
        (("inspections_due", "--depot", ""), ("There is no depot",)),
        (("load_register",), ("the following arguments are required: FILE",)),
        (("prove_ledger", "everything"), ("unrecognized arguments: everything",)),
        (("rederive", "--apply"), ("unrecognized arguments: --apply",)),
    ],
)
def test_bad_arguments(
    before: Callable[[], None], command: tuple[str, ...], sentences: tuple[str, ...]
) -> None:
    refused(run(*command), *sentences)
    before()


@pytest.mark.parametrize("job", [COMPLETE, SHORT])
@pytest.mark.parametrize("form", ["text", "json", "pdf", "xlsx"])
def test_an_output_that_cannot_be_written_reserves_nothing(
    before: Callable[[], None], tmp_path: Path, job: str, form: str
) -> None:
    for output, why in (
        (str(tmp_path), "is a folder"),
        (str(tmp_path / "no such folder" / "kit"), "there is no folder"),
        (str(tmp_path / "depot.xlsx" / "kit"), "there is no folder"),
    ):
        refused(run("kit_list", job, "--reserve", "--format", form, "-o", output), output, why)
    refused(run("inspections_due", "-o", str(tmp_path)), "is a folder")
    assert not Reservation.objects.exists()
    before()


def test_a_file_that_fails_half_way_leaves_the_older_one(
    before: Callable[[], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    output = tmp_path / "kit.json"
    output.write_text("yesterday's")

    def disk_full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", disk_full)
    refused(run("kit_list", COMPLETE, "--format", "json", "-o", str(output)), "No space left on device")
    assert output.read_text() == "yesterday's"
    assert list(tmp_path.glob(".*")) == []


# Files that are no register ------------------------------------------------------------------------------------


def missing(folder: Path) -> Path:
    return folder / "gone.xlsx"


def a_folder(folder: Path) -> Path:
    return folder


def a_pdf(folder: Path) -> Path:
    path = folder / "register.xlsx"
    path.write_bytes(b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF\n")
    return path


def a_zip_bomb(folder: Path) -> Path:
    path = xlsx(folder / "register.xlsx", {"Items": [ITEMS]})
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as target:
        target.writestr("xl/media/zeros.bin", bytes(30 * 1024 * 1024))
    return path


def nothing_at_all(folder: Path) -> Path:
    path = folder / "register.ods"
    path.touch()
    return path


def half_a_file(folder: Path) -> Path:
    path = command_workbook(folder)
    path.write_bytes(path.read_bytes()[:4000])
    return path


def a_thousand_columns(folder: Path) -> Path:
    book = Workbook()
    book.active.title = "Items"
    book.active.append([*ITEMS, *(f"column {n}" for n in range(997))])
    book.active.append(["A1", "bag", "NY", *["x"] * 997])
    path = folder / "wide.xlsx"
    book.save(path)
    return path


def other_sheets(folder: Path) -> Path:
    return xlsx(folder / "other.xlsx", {"Sheet1": [["a", "b"]]})


def other_headings(folder: Path) -> Path:
    path = folder / "other.csv"
    path.write_text("name,street\nA,B\n")
    return path


UNREADABLE: dict[Callable[[Path], Path], str] = {
    missing: "There is no file",
    a_folder: "is a folder",
    a_pdf: "is a PDF by its content",
    a_zip_bomb: "which no register is",
    nothing_at_all: "is empty (0 bytes)",
    half_a_file: "is damaged",
    a_thousand_columns: "has 1,000 columns",
    other_sheets: "has no sheet of a register",
    other_headings: "begins with no headings of the register",
}


@pytest.mark.parametrize("made", UNREADABLE)
def test_a_file_that_is_no_register(
    before: Callable[[], None], tmp_path: Path, made: Callable[[Path], Path]
) -> None:
    path = made(tmp_path)
    refused(run("load_register", str(path)), UNREADABLE[made])
    said = run("load_register", str(path), "--format", "json")
    refused(Said("", said.err, said.code), UNREADABLE[made])
    answer = said.json
    [fault] = answer.pop("faults")
    assert answer == {"loaded": False, "new": 0, "changed": 0, "unchanged": 0, "warnings": []}
    assert (fault["sheet"], fault["row"], fault["column"], fault["value"]) == (None, None, None, None)
    assert UNREADABLE[made] in fault["why"]
    before()


def test_an_empty_sheet_is_a_fault_of_that_sheet(before: Callable[[], None], tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS, ["B-1", "bag", "NY"]], "Jobs": []})
    said = run("load_register", str(path), "--format", "json")
    assert said.code == 2
    assert said.err == f"{path} was not loaded: 1 fault. Nothing has changed.\n"
    [fault] = said.json["faults"]
    assert (fault["sheet"], fault["row"], fault["column"], fault["value"]) == ("Jobs", None, None, None)
    assert fault["why"].startswith("The sheet is empty.")
    before()


# The database --------------------------------------------------------------------------------------------------


def test_a_database_that_gives_up_is_a_sentence(
    before: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked(*_: object, **__: object) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(kit_list_command, "told_kit_list", locked)
    refused(run("kit_list", COMPLETE), "The database could not do it (database is locked).", "try again")


def test_a_fault_of_the_program_is_not_dressed_up_as_bad_input(
    before: Callable[[], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a bug")

    monkeypatch.setattr(kit_list_command, "told_kit_list", broken)
    with pytest.raises(RuntimeError, match="a bug"):
        run("kit_list", COMPLETE)


# Outside a transaction of the test's own, which on PostgreSQL the failed query would end.
@pytest.mark.django_db(transaction=True)
def test_a_database_of_an_older_version(before: Callable[[], None]) -> None:
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'inspections'")
        cursor.execute("ALTER TABLE inspections_due RENAME TO inspections_due_old")
    refused(run("inspections_due"), "older version", "manage.py migrate")


def test_no_sentence_names_a_python_class(before: Callable[[], None], tmp_path: Path) -> None:
    for command in (
        ("kit_list", "zzz"),
        ("inspections_due", "--depot", "zzz"),
        ("load_register", str(missing(tmp_path))),
    ):
        last = run(*command).err.strip().splitlines()[-1].removeprefix("CommandError: ")
        assert re.match(r"There is no \w+ .*[.?]$", last)
        assert not re.search(r"Error|Exception|None|<", last)
