"""A bad workbook handed in on a German page: each fault and warning is named in German; commands keep English."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from html.parser import HTMLParser
from pathlib import Path

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from kit.models import Depot, Role
from kit.views import load_register as screen
from kit.workbooks import uploads
from tests.inspections.workbooks import test_bench_faults_are_named as bench
from tests.inspections.workbooks.bench_book import bench_book
from tests.kit.views.yard import seat
from tests.kit.workbooks.depot_book import Book, depot_book, loaded
from tests.kit.workbooks.faulty_rows import FAULTS, clean_book
from tests.kit.workbooks.files import xlsx

pytestmark = pytest.mark.django_db

GERMAN = {"Accept-Language": "de"}
# Words that no German sentence has. What stands in quotation marks is a sheet, a heading or what was typed.
ENGLISH = re.compile(
    r"\b(the|is|are|of|and|not|no|or|this|that|has|have|must|write|to|it|its|with|before|row|cell|already)\b"
)
QUOTED = re.compile(r"„[^“]*“|\"[^\"]*\"|'[^']*'")


@pytest.fixture(autouse=True)
def everything_in_the_request(settings, tmp_path: Path, monkeypatch) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    monkeypatch.setattr(screen, "IN_REQUEST_BYTES", 10_000_000)
    monkeypatch.setattr(screen, "MOST_SHOWN", 1_000)


class _Whys(HTMLParser):
    """The cells of the column Why, headed "Grund" in German."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._within = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._within = tag == "td" and ("data-label", "Grund") in attrs
        if self._within:
            self.texts.append("")

    def handle_endtag(self, tag: str) -> None:
        self._within = self._within and tag != "td"

    def handle_data(self, data: str) -> None:
        if self._within:
            self.texts[-1] += data


def english(texts: Iterable[str]) -> list[str]:
    """Those that are English, in part at least; "yes or no" is to be typed so in any language."""
    return [text for text in texts if ENGLISH.search(QUOTED.sub("", text).replace("yes oder no", ""))]


def hand_in(client: Client, path: Path):
    with path.open("rb") as file:
        return client.post(reverse("load_register"), {"file": file}, follow=True, headers=GERMAN)


def bad_bench() -> Book:
    book = bench_book()
    for spoil in bench.FAULTS.values():
        spoil(book)
    return book


def bad_store() -> Book:
    book = clean_book()
    for spoil in FAULTS.values():
        spoil(book)
    return book


@pytest.mark.parametrize(("before", "bad"), [(depot_book, bad_store), (bench_book, bad_bench)])
def test_no_fault_of_a_bad_workbook_is_said_in_english(before, bad, tmp_path: Path) -> None:
    assert loaded(before().xlsx(tmp_path / "before.xlsx")).loaded
    client = seat(Role.COMPLIANCE, *Depot.objects.all())
    answer = hand_in(client, bad().xlsx(tmp_path / "bad.xlsx"))
    report = answer.context["report"]
    wrong = [fault["why"] for fault in [*report["faults"], *report["warnings"]]]
    assert len(wrong) >= 40
    html = answer.content.decode()
    whys = _Whys(html).texts
    assert len(whys) == len(wrong)
    assert english(whys) == []
    assert [why for why in wrong if why in html] == []
    assert english(wrong) != []  # what the command prints stays English

    sheet = client.get(f"{answer.redirect_chain[-1][0]}faults", headers=GERMAN)
    book = openpyxl.load_workbook(io.BytesIO(sheet.content))
    assert english(str(row[5].value) for row in list(book.worksheets[1])[1:]) == []


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("bruch.xlsx", b"PK\x03\x04 no workbook"),
        ("alt.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600),
        ("kein.csv", b"a,b\n1,2\n"),
    ],
)
def test_a_file_that_is_no_register_is_refused_in_german(name: str, content: bytes, tmp_path: Path) -> None:
    depot = Depot.objects.create(code="NY", name="Nord")
    (tmp_path / name).write_bytes(content)
    answer = hand_in(seat(Role.STORES, depot), tmp_path / name)
    text = answer.context["work"]["text"]
    assert english([text]) == [text]
    assert text not in answer.content.decode()


def test_a_sheet_that_is_missing_its_headings_is_named_as_it_is_to_be_typed(tmp_path: Path) -> None:
    """ "Items" and "kind" are what the register reads, so German does not turn them into its own words."""
    depot = Depot.objects.create(code="NY", name="Nord")
    answer = hand_in(
        seat(Role.STORES, depot), xlsx(tmp_path / "bad.xlsx", {"Items": [("tag", "depot"), ("X", "NY")]})
    )
    assert (
        "Die Spalte „kind“ fehlt. „Items“ muss diese Überschriften haben: „tag, kind, depot“."
        in _Whys(answer.content.decode()).texts[0]
    )


def test_how_far_it_is_is_told_in_german(tmp_path: Path) -> None:
    depot = Depot.objects.create(code="NY", name="Nord")
    client = seat(Role.STORES, depot)
    rows = [("tag", "kind", "depot"), ("NEW-1", "pump", "NY")]
    address = hand_in(client, xlsx(tmp_path / "good.xlsx", {"Items": rows})).redirect_chain[-1][0]
    [folder] = [path.parent for path in (tmp_path / "uploads").rglob("work.json")]
    upload = uploads.find(folder.parent, folder.name)
    upload.note(state="running", step="load", done=3, total=9, text="working out due dates")
    told = client.get(f"{address}progress", headers=GERMAN).json()["text"]
    assert told == "Fälligkeiten werden berechnet"
    assert told in client.get(address, headers=GERMAN).content.decode()
