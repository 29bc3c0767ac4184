"""Files about items: told by their content, held fast by their hash, handed out only to who may see the item."""

from __future__ import annotations

import hashlib
import io

import pytest
import segno
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.urls import reverse

from inspections.actions.attach import attach
from inspections.files import kind_of_file, name_kept
from inspections.models import MOST_BYTES, Attachment, AttachmentBytes, Inspection
from kit import guards
from kit.models import Deed, Item, LedgerEntry
from kit.stores import NotAllowed, prove_ledger
from tests.kit.views.holm import Yard, make_yard


def png() -> bytes:
    """A real PNG, written by a general library."""
    content = io.BytesIO()
    segno.make("NY-B1").save(content, kind="png")
    return content.getvalue()


JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF\x00" + b"\0" * 40
PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"


@pytest.fixture
def yard(db) -> Yard:
    return make_yard()


@pytest.fixture
def gauge(yard: Yard) -> Item:
    return yard.receive("G-1")


@pytest.mark.parametrize(
    ("content", "content_type"),
    [
        (JPEG, "image/jpeg"),
        (png(), "image/png"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "image/webp"),
        (PDF, "application/pdf"),
        (b"<html><script>alert(1)</script>", None),
        (b"GIF89a", None),
        (b"PK\x03\x04", None),
        (b" " + PDF, None),
        (b"RIFF\x10\0\0\0WAVEfmt ", None),
        (b"", None),
    ],
)
def test_a_file_is_known_by_its_first_bytes(content: bytes, content_type: str | None):
    kind = kind_of_file(content)
    assert (kind.content_type if kind else None) == content_type


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("cert.pdf", "cert.pdf"),
        ("CERT.PDF", "CERT.PDF"),
        ("photo.jpg", "photo.jpg.pdf"),
        ("../../etc/passwd", "passwd.pdf"),
        ("C:\\scans\\cert.pdf", "cert.pdf"),
        ("\u202efdp.exe", "fdp.exe.pdf"),
        ("", "file.pdf"),
        ("x" * 200 + ".pdf", "x" * 116 + ".pdf"),
    ],
)
def test_the_name_says_what_it_is_and_leads_nowhere(name: str, kept: str):
    kind = kind_of_file(PDF)
    assert kind is not None
    assert name_kept(name, kind) == kept


def test_it_is_kept_with_its_hash_in_the_ledger(yard: Yard, gauge: Item):
    content = png()
    made = yard.do(attach, gauge, "dial.png", content, note="glass cracked", who="eve")
    assert made.sha256 == hashlib.sha256(content).hexdigest()
    assert bytes(AttachmentBytes.objects.get(pk=made.pk).content) == content
    entry = LedgerEntry.objects.get(deed=Deed.ATTACHED)
    assert made.sha256 in entry.body
    assert prove_ledger().fault is None


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "is empty"),
        (b"<html>", "not a JPEG, PNG or WebP picture nor a PDF"),
        (JPEG + b"\0" * MOST_BYTES, "8 MB is the most"),
    ],
)
def test_what_is_not_taken_says_why(yard: Yard, gauge: Item, content: bytes, why: str):
    with pytest.raises(NotAllowed, match=why):
        yard.do(attach, gauge, "dial.jpg", content)
    assert not Attachment.objects.exists()


def test_the_same_file_twice_or_at_another_items_record_is_refused(yard: Yard, gauge: Item):
    yard.do(attach, gauge, "dial.jpg", JPEG)
    with pytest.raises(NotAllowed, match="attached here already"):
        yard.do(attach, gauge, "again.jpg", JPEG)
    other = yard.receive("G-2")
    with pytest.raises(NotAllowed, match="of G-2, not of G-1"):
        yard.do(attach, gauge, "dial.jpg", JPEG, inspection=Inspection.objects.filter(item=other)[0])


@pytest.mark.parametrize("gone", [True, False])
def test_a_changed_byte_is_found_by_the_proof_and_not_handed_out(yard: Yard, gauge: Item, gone: bool):
    made = yard.do(attach, gauge, "dial.jpg", JPEG)
    with connection.cursor() as cursor:
        guards.unprotect(cursor.execute, connection.vendor, "inspections_attachmentbytes")
        if gone:
            cursor.execute("DELETE FROM inspections_attachmentbytes")
        else:
            cursor.execute("UPDATE inspections_attachmentbytes SET content = %s", [JPEG[:-1] + b"\1"])
    assert "dial.jpg of G-1" in str(prove_ledger().fault)
    answer = yard.client("eve").get(reverse("file", args=[made.pk]), follow=True)
    assert answer.redirect_chain[-1][0] == reverse("item", args=["G-1"])
    assert "not handed out" in answer.content.decode()


def test_it_is_handed_out_as_a_file_to_who_may_see_the_item_only(yard: Yard, gauge: Item):
    made = yard.do(attach, gauge, "dial.jpg", JPEG)
    address = reverse("file", args=[made.pk])
    answer = yard.client("cal").get(address)
    assert answer.content == JPEG
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"] == 'attachment; filename="dial.jpg"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert yard.client("wyn").get(address).status_code == 404


def test_it_is_sent_from_the_item_page_and_a_refusal_stays_there(yard: Yard, gauge: Item):
    client = yard.client("sal")
    address = reverse("attach", args=["G-1"])
    record = Inspection.objects.filter(item=gauge)[0]
    sent = {"photo": SimpleUploadedFile("IMG_1.jpg", JPEG), "note": "dial", "inspection": record.pk}
    page = client.post(address, sent, follow=True).content.decode()
    assert "IMG_1.jpg" in page
    assert Attachment.objects.get().inspection == record
    page = client.post(address, {"file": SimpleUploadedFile("bad.pdf", b"plain words")}).content.decode()
    assert "bad.pdf is not a JPEG" in page
    assert "Choose a file first" in client.post(address, {}).content.decode()
    assert yard.client("pat").post(address, sent).status_code == 403
    away = {"file": SimpleUploadedFile("c.pdf", PDF), "next": "https://elsewhere.example/"}
    assert client.post(address, away)["Location"].startswith(reverse("item", args=["G-1"]))
    assert (
        client.post(address, {"file": SimpleUploadedFile("d.pdf", PDF + b"1"), "case": 99}).status_code == 404
    )


def test_nothing_that_the_ledger_images_can_be_put_beside_it(yard: Yard, gauge: Item):
    made = yard.do(attach, gauge, "dial.jpg", JPEG)
    for row in (gauge, made):
        with pytest.raises(RuntimeError, match="told of in the ledger"):
            yard.do(lambda act, row=row: act.put_beside(row))
        with pytest.raises(RuntimeError, match="told of in the ledger"):
            yard.do(lambda act, row=row: act.clear(row))
