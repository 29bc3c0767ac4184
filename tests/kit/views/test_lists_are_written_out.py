"""A list written out is the list that is seen: rows, order, columns, headings, in three formats, long or short."""

from __future__ import annotations

import csv
import io
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils.html import strip_tags
from openpyxl import load_workbook
from python_calamine import CalamineWorkbook

from kit.stores import quarantine
from kit.views import list_files
from tests.kit.views.holm import Yard

LISTS = ("register", "jobs", "due", "quarantine")


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    yard.receive("G-1", maker="Pell", serial="=1+1")
    yard.receive("G-2", maker="Orm", serial="-a", passed=False)
    yard.receive("B-1", kind="bag", bore_min_mm=150, bore_max_mm=200, use_by=yard.today + timedelta(days=5))
    yard.do(quarantine, yard.receive("G-3", maker="Orm"), "bent")
    yard.receive("W-1", kind="pump", depot=yard.weir)
    yard.plan("J-1", yard.arrangement(), load_in=2)
    return yard


def taken(yard: Yard, name: str, kind: str, address: str = "", who: str = "lee", **headers: str) -> bytes:
    url = f"{reverse('list_file', args=[name, kind])}?{address}"
    answer = yard.client(who).get(url, headers=headers or None)
    assert answer.status_code == 200, url
    assert f".{kind}" in answer["Content-Disposition"]
    return b"".join(answer.streaming_content)


def table(content: bytes, kind: str) -> list[list[object]]:
    """The table of a file, read by another library than wrote it where there is one."""
    if kind == "csv":
        return [*csv.reader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True)]
    if kind == "xlsx":
        sheet = load_workbook(io.BytesIO(content)).worksheets[1]
        return [["" if value is None else value for value in row] for row in sheet.values]
    return CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(1).to_python()


@pytest.mark.parametrize("kind", list_files.TYPES)
def test_rows_order_and_columns_are_those_of_the_address(stocked: Yard, kind: str):
    read = table(taken(stocked, "register", kind, "columns=maker,tag,use_by&sort=-maker&kind=gauge"), kind)
    assert read[0] == ["Maker", "Tag", "Use-by"]
    assert [row[:2] for row in read[1:]][:1] == [["Pell", "G-1"]]
    assert {tuple(row[:2]) for row in read[2:]} == {("Orm", "G-2"), ("Orm", "G-3")}


@pytest.mark.parametrize("kind", list_files.TYPES)
def test_headings_are_in_the_language_of_the_screen(stocked: Yard, kind: str):
    address = "columns=tag,kind,depot,place"
    page = stocked.client("lee").get(f"{reverse('register')}?{address}", headers={"Accept-Language": "de"})
    seen = [str(column.header) for column in page.context["table"].columns]
    read = table(taken(stocked, "register", kind, address, **{"Accept-Language": "de"}), kind)
    assert read[0] == seen


@pytest.mark.parametrize("name", LISTS)
def test_every_cell_that_is_text_reads_as_on_screen(stocked: Yard, name: str):
    """Days and numbers are written as such; columns of buttons are not written."""
    page = stocked.client("lee").get(f"{reverse(name)}?depot=")
    shown = page.context["table"]
    read = table(taken(stocked, name, "csv", "depot="), "csv")
    written = {column: one for column, one in shown.written.items() if one.kind == "text"}
    headings = {column.name: str(column.header) for column in shown.columns}
    assert read[0] == [headings[column] for column in headings if column in shown.written]
    seen = list(shown.rows)
    assert len(read) == len(seen) + 1 > 1
    for row, cells in zip(seen, read[1:], strict=True):
        for column, value in zip([c for c in headings if c in shown.written], cells, strict=True):
            if column in written and column != "stands":
                screen = re.sub(r"\s+", " ", strip_tags(str(row.get_cell(column)))).strip()
                assert value.lstrip("'") == ("" if screen == "—" else screen), column


def test_text_that_might_be_a_formula_is_text(stocked: Yard):
    rows = table(taken(stocked, "register", "csv", "columns=tag,serial&sort=tag&kind=gauge"), "csv")
    assert rows[1:3] == [["G-1", "'=1+1"], ["G-2", "'-a"]]
    content = taken(stocked, "register", "xlsx", "columns=tag,serial&sort=tag&kind=gauge")
    cell = load_workbook(io.BytesIO(content)).worksheets[1]["B2"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


@pytest.mark.parametrize("kind", list_files.TYPES)
def test_the_ledger_is_written_out_as_it_is_told(stocked: Yard, kind: str):
    address = f"actor=register&deed=received&about={'' if kind == 'csv' else 'item:G-1'}"
    told = stocked.client("lee").get(f"{reverse('ledger')}?{address}").context["entries"]
    read = table(taken(stocked, "ledger", kind, address), kind)
    assert [(int(row[0]), row[3], row[4]) for row in read[1:]] == [
        (entry["number"], entry["action"], entry["text"]) for entry in told
    ]
    assert len(read) > 1
    assert {row[5] for row in read[1:]} == {"register"}
    assert stocked.client("sal").get(f"/lists/ledger.{kind}").status_code == 404


def test_nothing_of_a_depot_that_is_not_ones_own_is_written(stocked: Yard):
    rows = table(taken(stocked, "register", "csv", "depot=&columns=tag"), "csv")
    assert sorted(row[0] for row in rows[1:]) == ["B-1", "G-1", "G-2", "G-3"]


def test_the_crew_writes_nothing_out_and_no_other_list_or_format_is_known(stocked: Yard):
    def answered(name: str = "register", kind: str = "csv", who: str = "lee", address: str = "") -> int:
        return stocked.client(who).get(f"/lists/{name}.{kind}?{address}").status_code

    assert answered(who="cal") == 403
    assert answered(kind="exe") == 404
    assert answered("nothing") == 404
    stocked.appoint("lee", stocked.weir, "crew")
    assert answered() == 200
    assert answered(address="depot=") == 403


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("kind", ["xlsx", "csv"])
def test_a_long_list_is_written_aside_and_told_of_as_it_goes(
    stocked: Yard, kind: str, monkeypatch: pytest.MonkeyPatch, settings, tmp_path
):
    settings.MEDIA_ROOT = tmp_path
    monkeypatch.setattr(list_files, "QUICK_ROWS", 2)
    # In this thread: what is tested is the file and who gets it, not the thread.
    see_to = list_files.see_to
    monkeypatch.setattr(list_files, "see_to", lambda note, work, aside: see_to(note, work, aside=False))
    client = stocked.client("lee")
    answer = client.get(f"/lists/register.{kind}?columns=tag&sort=-tag")
    assert answer.context["noted"]["state"] == "done"
    told = client.get(answer.context["progress_url"]).json()
    assert (told["state"], told["next"]) == ("done", answer.context["file_url"])
    content = b"".join(client.get(told["next"]).streaming_content)
    assert [row[0] for row in table(content, kind)] == ["Tag", "G-3", "G-2", "G-1", "B-1"]
    assert stocked.client("sal").get(told["next"]).status_code == 404
    assert client.get(told["next"].replace(f".{kind}", ".json")).status_code == 404
