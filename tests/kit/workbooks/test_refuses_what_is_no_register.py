"""A file that cannot be read at all is refused with one sentence that says what it is and what to do."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from kit.workbooks import RegisterFileError, open_register
from tests.kit.workbooks.files import ITEMS, ods, ods_rows, xlsx


def refusal(path: Path, name: str | None = None) -> str:
    with pytest.raises(RegisterFileError) as caught:
        open_register(path, name)
    return str(caught.value)


def test_missing_file(tmp_path: Path) -> None:
    assert refusal(tmp_path / "gone.xlsx").startswith(f"There is no file {tmp_path / 'gone.xlsx'}.")


def test_folder(tmp_path: Path) -> None:
    assert "is a folder" in refusal(tmp_path)


def test_empty_file(tmp_path: Path) -> None:
    path = tmp_path / "register.xlsx"
    path.touch()
    assert refusal(path).startswith("register.xlsx is empty (0 bytes).")


@pytest.mark.parametrize("ending", ["xlsx", "ods", "csv"])
def test_pdf_under_another_name(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"register.{ending}"
    path.write_bytes(b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF\n")
    assert refusal(path).startswith(f"register.{ending} is a PDF by its content")


@pytest.mark.parametrize("ending", [".xls", ".xlsm", ".txt", ".json", ""])
def test_other_endings(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"register{ending}"
    path.write_bytes(b"tag,kind,depot\n")
    assert "not read as a register" in refusal(path)


def test_web_page_named_xlsx(tmp_path: Path) -> None:
    path = tmp_path / "register.xlsx"
    path.write_text("<html><table></table></html>")
    assert "not a workbook by its content" in refusal(path)


def test_old_xls_named_xlsx(tmp_path: Path) -> None:
    path = tmp_path / "register.xlsx"
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000))
    assert "an old .xls workbook" in refusal(path)


def test_workbook_with_a_password(tmp_path: Path) -> None:
    path = tmp_path / "register.xlsx"
    path.write_bytes(
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "EncryptedPackage".encode("utf-16-le") + bytes(600)
    )
    assert "protected by a password" in refusal(path)


def test_ods_with_a_password(tmp_path: Path) -> None:
    path = ods(
        tmp_path / "register.ods",
        {"Items": ods_rows([ITEMS])},
        manifest='<manifest:encryption-data manifest:checksum="x"/>',
    )
    assert "protected by a password" in refusal(path)


def test_zip_with_a_password(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS]})
    content = bytearray(path.read_bytes())
    entry = content.rfind(b"PK\x01\x02")
    content[entry + 8] |= 1  # The directory's general purpose flag: encrypted.
    path.write_bytes(bytes(content))
    assert "protected by a password" in refusal(path)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_workbook_that_breaks_off(tmp_path: Path, share: float) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS, *[("A1", "bag", "N")] * 50]})
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    assert refusal(path).startswith("register.xlsx is damaged")


def test_flipped_bytes_inside(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS, *[(f"A{n}", "bag", "N") for n in range(500)]]})
    with zipfile.ZipFile(path) as archive:
        entry = archive.getinfo("xl/worksheets/sheet1.xml")
    content = bytearray(path.read_bytes())
    middle = entry.header_offset + entry.compress_size // 2
    content[middle : middle + 4] = bytes(byte ^ 0xFF for byte in content[middle : middle + 4])
    path.write_bytes(bytes(content))
    assert "damaged" in refusal(path)


def test_other_zip_archive_named_xlsx(tmp_path: Path) -> None:
    path = tmp_path / "register.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("word/document.xml", "<document/>")
    assert "is no .xlsx workbook" in refusal(path)


def test_workbook_under_the_other_ending(tmp_path: Path) -> None:
    as_ods = xlsx(tmp_path / "one.ods", {"Items": [ITEMS]})
    as_xlsx = ods(tmp_path / "two.xlsx", {"Items": ods_rows([ITEMS])})
    assert "rename it to end in .xlsx" in refusal(as_ods)
    assert "rename it to end in .ods" in refusal(as_xlsx)


def test_workbook_named_csv(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Items": [ITEMS]}).rename(tmp_path / "register.csv")
    assert "by its content" in refusal(path)


def test_no_known_sheet_names_the_nearest(tmp_path: Path) -> None:
    path = xlsx(tmp_path / "register.xlsx", {"Itmes": [ITEMS], "Sheet2": []})
    said = refusal(path)
    assert said.startswith('register.xlsx has no sheet of a register. Its sheets: "Itmes", "Sheet2".')
    assert 'Rename "Itmes" to Items' in said


def test_an_upload_is_called_by_its_own_name(tmp_path: Path) -> None:
    path = tmp_path / "upload_8c1f"
    path.write_bytes(b"%PDF-1.7")
    assert refusal(path, "depot north.xlsx").startswith("depot north.xlsx is a PDF")


def test_a_good_upload_needs_no_ending_on_disk(tmp_path: Path) -> None:
    book = xlsx(tmp_path / "a.xlsx", {"Items": [ITEMS, ("A1", "bag", "N")]}).rename(tmp_path / "upload_1")
    text = ods(tmp_path / "b.ods", {"Items": ods_rows([ITEMS, ("A1", "bag", "N")])}).rename(
        tmp_path / "upload_2"
    )
    for path, name in ((book, "north.xlsx"), (text, "north.ods")):
        register = open_register(path, name)
        assert register.name == name
        assert [row.values["tag"] for row in register.sheets["Items"].rows()] == ["A1"]
