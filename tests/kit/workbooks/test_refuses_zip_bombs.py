"""What would fill the memory is refused from the archive's directory, or from the sheet's reach, unopened."""

from __future__ import annotations

import struct
import zipfile
from pathlib import Path

import pytest
import python_calamine

from kit.workbooks import RegisterFileError, archive, open_register, reading
from tests.kit.workbooks.files import (
    ITEMS,
    ods,
    ods_cell,
    ods_row,
    sheet_xml,
    text_cell,
    with_sheet_xml,
    xlsx,
)


def refusal(path: Path) -> str:
    with pytest.raises(RegisterFileError) as caught:
        open_register(path)
    return str(caught.value)


@pytest.fixture
def unopened(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail if the spreadsheet library is asked to open anything."""

    def opened(*_: object) -> None:
        pytest.fail("python-calamine was asked to open the file")

    monkeypatch.setattr(python_calamine, "load_workbook", opened)


def bomb(path: Path, entry: str, megabytes: int) -> Path:
    """A workbook with an entry of zeros; 100 MB of them pack to 100 kB."""
    xlsx(path, {"Items": [ITEMS]})
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as target, target.open(entry, "w") as out:
        for _ in range(megabytes):
            out.write(bytes(1024 * 1024))
    return path


@pytest.mark.usefixtures("unopened")
def test_packed_too_tightly(tmp_path: Path) -> None:
    path = bomb(tmp_path / "register.xlsx", "xl/media/zeros.bin", 20)
    assert path.stat().st_size < 50_000
    assert "which no register is" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_too_large_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MOST_UNPACKED_BYTES", 5 * 1024 * 1024)
    path = bomb(tmp_path / "register.xlsx", "xl/media/zeros.bin", 6)
    assert "6 MB, and 5 MB is the limit" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_too_many_entries(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS]})
    with zipfile.ZipFile(path, "a") as target:
        for number in range(archive.MOST_ENTRIES):
            target.writestr(f"xl/media/{number}.bin", b"")
    assert "files, and a workbook may hold 2,000" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_directory_too_large_to_look_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MOST_DIRECTORY_BYTES", 300)
    monkeypatch.setattr(zipfile, "ZipFile", lambda *_: pytest.fail("the whole directory was read"))
    path = tmp_path / "register.xlsx"
    xlsx_bytes = b"PK\x03\x04" + bytes(100) + b"PK\x05\x06" + struct.pack("<4H2IH", 0, 0, 9, 9, 301, 0, 0)
    path.write_bytes(xlsx_bytes)
    assert "more than 2,000 files" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_directory_that_lies_about_a_size(tmp_path: Path) -> None:
    """The directory says 1,000 bytes where 3 MB are packed, with the checksum of the first 1,000."""
    path = bomb(tmp_path / "register.xlsx", "xl/media/zeros.bin", 3)
    content = bytearray(path.read_bytes())
    at = content.rfind(b"PK\x01\x02")  # The entry added last.
    content[at + 16 : at + 20] = struct.pack("<I", zipfile.crc32(bytes(1000)))
    content[at + 24 : at + 28] = struct.pack("<I", 1000)
    path.write_bytes(bytes(content))
    with zipfile.ZipFile(path) as archive_file:
        assert archive_file.read("xl/media/zeros.bin") == bytes(1000), "zipfile believes it"
    assert "more is packed inside than its directory says" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_two_entries_of_one_name(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS]})
    with zipfile.ZipFile(path, "a") as target, pytest.warns(UserWarning, match="Duplicate name"):
        target.writestr("xl/workbook.xml", b"<workbook/>")
    assert "damaged" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_thousand_columns(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [[*ITEMS, *(f"c{n}" for n in range(997))]]})
    assert refusal(path).startswith(
        "Sheet Items has 1,000 columns (the last that is filled is ALL), and 200 is"
    )


@pytest.mark.usefixtures("unopened")
def test_stray_cell_in_the_far_corner(tmp_path: Path) -> None:
    far = '<row r="1048576">' + text_cell("E1048576", "x") + "</row>"
    path = with_sheet_xml(
        tmp_path / "register.xlsx", sheet_xml(f'<row r="1">{text_cell("A1", "tag")}</row>', far)
    )
    assert refusal(path).startswith("Sheet Items reaches to row 1,048,576, and 200,000 is the most.")


@pytest.mark.usefixtures("unopened")
def test_cells_that_do_not_say_where_they_are(tmp_path: Path) -> None:
    cells = "<c><v>1</v></c>" * 201
    path = with_sheet_xml(tmp_path / "register.xlsx", sheet_xml(f"<row>{cells}</row>"))
    assert "has 201 columns" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_cell_that_claims_another_row(tmp_path: Path) -> None:
    path = with_sheet_xml(
        tmp_path / "register.xlsx", sheet_xml(f'<row r="1">{text_cell("A900000", "tag")}</row>')
    )
    assert "damaged" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_repeated_cells_in_ods(tmp_path: Path) -> None:
    wide = ods(tmp_path / "wide.ods", {"Items": ods_row(ods_cell("x", times=16_000))})
    long = ods(tmp_path / "long.ods", {"Items": ods_row(ods_cell("x"), times=1_000_000)})
    elsewhere = ods(
        tmp_path / "else.ods", {"Items": ods_row(ods_cell("tag")), "Old": ods_row(ods_cell(1, times=999))}
    )
    assert "Items has 16,000 columns" in refusal(wide)
    assert "Items reaches to row 1,000,000" in refusal(long)
    assert "Old has 999 columns" in refusal(elsewhere), "all sheets of an .ods are laid out"


@pytest.mark.usefixtures("unopened")
def test_too_many_cells_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_CELLS", 1_000)
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS] * 200, "Jobs": [ITEMS] * 200})
    assert "more than 1,000 cells" in refusal(path)


@pytest.mark.usefixtures("unopened")
def test_document_type(tmp_path: Path) -> None:
    entities = '<!DOCTYPE worksheet [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    path = with_sheet_xml(tmp_path / "register.xlsx", entities + sheet_xml())
    assert "damaged" in refusal(path)


def test_formatted_blank_cells_do_not_count(tmp_path: Path) -> None:
    """Spreadsheet programs keep formats far beyond the data; that is no reason to refuse a file."""
    blank = '<row r="1048576"><c r="XFD1048576" s="0"/></row>'
    head = "".join(text_cell(f"{letter}1", name) for letter, name in zip("ABC", ITEMS, strict=True))
    path = with_sheet_xml(tmp_path / "register.xlsx", sheet_xml(f'<row r="1">{head}</row>', blank))
    register = open_register(path)
    assert not register.faults
    assert list(register.sheets["Items"].rows()) == []
