"""Loading a register in the browser: seen before it is written, loaded as it was seen, or not at all."""

from __future__ import annotations

import io
import time
from pathlib import Path

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from kit.models import Deed, Item, LedgerEntry, Role
from kit.stores import prove_ledger
from kit.views import load_register as screen
from kit.workbooks import uploads
from tests.kit.views.yard import EVERY_ROLE, Yard, seat, yard
from tests.kit.workbooks.files import xlsx

HEADS = ("tag", "kind", "depot", "place", "use_by")
LOADERS = {Role.STORES, Role.COMPLIANCE}


@pytest.fixture(autouse=True)
def upload_folder(settings, tmp_path) -> Path:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    return settings.MEDIA_ROOT


@pytest.fixture
def place(db) -> Yard:
    return yard()


def workbook(tmp_path: Path, *rows: tuple[object, ...], name: str = "register.xlsx") -> Path:
    return xlsx(tmp_path / name, {"Items": [HEADS, *rows]})


def hand_in(client: Client, path: Path, **more: object):
    with path.open("rb") as file:
        return client.post(reverse("load_register"), {"file": file}, follow=True, **more)


GOOD = (("NEW-1", "pump", "NY", "Cage 1", None), ("NEW-2", "pump", "NY", "Cage 3", None))


def test_what_it_would_do_is_shown_and_nothing_written(place, tmp_path):
    client = seat(Role.STORES, place.north)
    before = LedgerEntry.objects.count()
    answer = hand_in(client, workbook(tmp_path, *GOOD))
    report = answer.context["report"]
    assert (report["new"], report["changed"], report["unchanged"]) == (2, 0, 0)
    assert answer.context["may_load"]
    text = answer.content.decode()
    assert "Nothing is written yet" in text
    assert "NEW-2" in text
    assert not Item.objects.filter(tag="NEW-1").exists()
    assert LedgerEntry.objects.count() == before


def test_one_press_loads_the_very_file_and_deletes_it(place, tmp_path, upload_folder):
    client = seat(Role.COMPLIANCE, place.north)
    seen = hand_in(client, workbook(tmp_path, *GOOD))
    address = seen.redirect_chain[-1][0]
    answer = client.post(address, {"do": "load"}, follow=True)
    assert "The register is loaded: 2 new, 0 changed, 0 unchanged." in answer.content.decode()
    assert Item.objects.get(tag="NEW-2").place.name == "Cage 3"
    entry = LedgerEntry.objects.filter(deed=Deed.LOADED).latest("number")
    assert (entry.actor, entry.source) == ("the.compliance", "workbook register.xlsx")
    assert address.strip("/").split("/")[-1] in entry.body  # the SHA-256 of what was handed in
    assert list(upload_folder.rglob("register.*")) == []
    assert prove_ledger().fault is None
    # A second press finds nothing to load.
    again = client.post(address, {"do": "load"}, follow=True)
    assert "cannot be loaded as it stands" in again.content.decode()
    assert Item.objects.filter(tag__startswith="NEW-").count() == 2


def test_faults_are_named_and_the_whole_is_refused(place, tmp_path):
    client = seat(Role.STORES, place.north)
    path = workbook(
        tmp_path, *GOOD, ("=BAD", "bag", "NY", "", "31/02/2027"), ("X-2", "no such kind", "NY", "", None)
    )
    answer = hand_in(client, path)
    assert answer.context["refused_rows"] == 2
    assert not answer.context["may_load"]
    text = answer.content.decode()
    assert "31/02/2027" in text
    assert "no such kind" in text
    assert "nothing is loaded" in text
    address = answer.redirect_chain[-1][0]
    refused = client.post(address, {"do": "load"}, follow=True)
    assert "cannot be loaded as it stands" in refused.content.decode()
    assert not Item.objects.filter(tag="NEW-1").exists()
    sheet = client.get(f"{address}faults")
    assert sheet["Content-Disposition"].startswith("attachment")
    rows = [
        [cell.value for cell in row]
        for row in openpyxl.load_workbook(io.BytesIO(sheet.content)).worksheets[1]
    ]
    found = {(row[1], row[2], row[3]) for row in rows[1:]}
    assert {("Items", 4, "use_by"), ("Items", 5, "kind")} <= found


def test_a_file_that_is_known_already_has_nothing_to_load(place, tmp_path):
    client = seat(Role.STORES, place.north)
    address = hand_in(client, workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    client.post(address, {"do": "load"})
    answer = hand_in(client, workbook(tmp_path, *GOOD))
    assert "there is nothing to load" in answer.content.decode()
    assert not answer.context["may_load"]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("notes.txt", b"tag,kind\n", "is no .xlsx, .ods or .csv"),
        ("empty.xlsx", b"", "empty"),
        ("broken.xlsx", b"PK\x03\x04 no workbook", "broken.xlsx"),
        ("old.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "old.xlsx"),
    ],
)
def test_what_is_no_register_is_refused_in_a_sentence(place, tmp_path, name, content, words):
    path = tmp_path / name
    path.write_bytes(content)
    answer = hand_in(seat(Role.STORES, place.north), path)
    assert answer.status_code == 200
    assert words in answer.content.decode()


def test_a_file_too_large_is_not_kept(place, tmp_path, settings, upload_folder):
    settings.REGISTER_UPLOAD_MAX_BYTES = 1000
    answer = hand_in(seat(Role.STORES, place.north), workbook(tmp_path, *GOOD))
    assert "is larger than" in answer.content.decode()
    assert not upload_folder.exists()


def test_a_file_that_was_altered_meanwhile_is_not_loaded(place, tmp_path, upload_folder):
    client = seat(Role.STORES, place.north)
    address = hand_in(client, workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    [kept] = upload_folder.rglob("register.xlsx")
    workbook(tmp_path, ("OTHER-1", "pump", "NY", "", None), name="other.xlsx").replace(kept)
    answer = client.post(address, {"do": "load"}, follow=True)
    assert "hand it in again" in answer.content.decode()
    assert not Item.objects.filter(tag__in=["OTHER-1", "NEW-1"]).exists()


def test_giving_it_up_deletes_it(place, tmp_path, upload_folder):
    client = seat(Role.STORES, place.north)
    address = hand_in(client, workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    answer = client.post(address, {"do": "discard"}, follow=True)
    assert "Nothing was loaded" in answer.content.decode()
    assert [path for path in upload_folder.rglob("*") if path.is_file()] == []
    assert client.get(address).status_code == 404


def test_nobody_sees_or_loads_what_another_handed_in(place, tmp_path):
    address = hand_in(seat(Role.STORES, place.north), workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    other = seat(Role.STORES, place.north, name="another")
    assert other.get(address).status_code == 404
    assert other.post(address, {"do": "load"}).status_code == 404
    assert other.get(f"{address}faults").status_code == 404
    assert other.get(f"{address}progress").status_code == 404
    for odd in ("..", "a" * 64, "A" * 64, "x"):
        assert other.get(f"/register/load/{odd}/").status_code == 404


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_stores_and_the_compliance_lead_load_registers(place, tmp_path, role):
    client = seat(role, place.north)
    expected = 200 if role in LOADERS else 403
    assert client.get(reverse("load_register")).status_code == expected
    assert hand_in(client, workbook(tmp_path, *GOOD)).status_code == expected


@pytest.mark.parametrize("row", [("NEW-9", "pump", "MB", "", None), ("MB-7", "pump", "NY", "", None)])
def test_rows_of_a_depot_where_one_may_not_load_are_refused(place, tmp_path, row):
    both = seat(Role.STORES, place.north, place.mill, name="both")
    address = hand_in(both, workbook(tmp_path, ("MB-7", "pump", "MB", "", None))).redirect_chain[-1][0]
    both.post(address, {"do": "load"})
    assert Item.objects.get(tag="MB-7").depot == place.mill
    answer = hand_in(seat(Role.STORES, place.north), workbook(tmp_path, row, name="theirs.xlsx"))
    assert "This file would change what is at MB" in answer.content.decode()
    assert not answer.context["may_load"]


def test_progress_is_told_and_work_that_stopped_is_said_to_have_stopped(place, tmp_path, upload_folder):
    client = seat(Role.STORES, place.north)
    address = hand_in(client, workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    done = client.get(f"{address}progress").json()
    assert (done["state"], done["next"]) == ("done", address)
    [folder] = [path.parent for path in upload_folder.rglob("work.json")]
    upload = uploads.find(folder.parent, folder.name)
    upload.note(state="running", step="load", done=3, total=9, text="writing")
    told = client.get(f"{address}progress").json()
    assert told == {"state": "running", "done": 3, "total": 9, "text": "writing", "next": None}
    assert "data-progress-url" in client.get(address).content.decode()
    assert (
        "cannot be loaded as it stands" in client.post(address, {"do": "load"}, follow=True).content.decode()
    )
    text = (folder / "work.json").read_text().replace('"at": ', '"at": -')
    (folder / "work.json").write_text(text)
    assert client.get(f"{address}progress").json()["state"] == "failed"
    assert "stopped before its end" in client.get(address).content.decode()


def test_what_nobody_went_on_with_is_deleted_the_day_after(place, tmp_path, upload_folder, monkeypatch):
    client = seat(Role.STORES, place.north)
    first = hand_in(client, workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    now = time.time
    monkeypatch.setattr(uploads.time, "time", lambda: now() + 25 * 3600)
    hand_in(client, workbook(tmp_path, GOOD[0], name="second.xlsx"))
    assert client.get(first).status_code == 404


def test_a_fault_of_the_program_is_said_and_nothing_is_written(place, tmp_path, monkeypatch):
    def fails(*_args, **_more):
        raise RuntimeError("no such thing")

    monkeypatch.setattr(screen, "load", fails)
    answer = hand_in(seat(Role.STORES, place.north), workbook(tmp_path, *GOOD))
    assert answer.status_code == 200
    assert "A fault of the program stopped the loading" in answer.content.decode()
    assert "no such thing" not in answer.content.decode()


@pytest.mark.django_db(transaction=True)
def test_a_large_file_is_loaded_behind_a_progress_bar(tmp_path, monkeypatch):
    monkeypatch.setattr(screen, "IN_REQUEST_BYTES", 0)
    place = yard()
    client = seat(Role.STORES, place.north)
    address = hand_in(client, workbook(tmp_path, *GOOD)).redirect_chain[-1][0]
    _wait(client, address)
    seen = client.get(address)
    assert seen.context["may_load"]
    client.post(address, {"do": "load"})
    _wait(client, address)
    assert "The register is loaded: 2 new" in client.get(address).content.decode()
    assert Item.objects.filter(tag="NEW-1").exists()


def _wait(client: Client, address: str) -> None:
    for _try in range(300):
        if client.get(f"{address}progress").json()["state"] != "running":
            return
        time.sleep(0.1)
    raise AssertionError("the work did not end")
