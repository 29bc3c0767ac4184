"""Passport of an item and evidence sheet of a job: read back from the PDF, they say what was done, and prove it."""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inspections.actions.attach import attach
from inspections.actions.correct import correct, entered
from inspections.models import Attachment, Inspection, QuarantineCase
from kit.models import Deed, Item, Job, LedgerEntry
from kit.papers.dossier import Column, Part
from kit.stores import issue_piece, prove_ledger, take_back
from tests.kit.papers.examples import pages, qr_codes, reader, run_together
from tests.kit.views.holm import Yard

PNG = (
    b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x00\x00\x00\x00:~\x9bU"
    b"\x00\x00\x00\nIDATx\x9cc`\x00\x00\x00\x02\x00\x01H\xaf\xa4q\x00\x00\x00\x00IEND\xaeB`\x82"
)


@pytest.fixture
def job(yard: Yard) -> Job:
    """G-1 and G-2 went out on J-1; G-1 came back broken; a record of G-2 was corrected before."""
    for tag in ("G-1", "G-2"):
        yard.receive(tag, serial=f"SER-{tag}", maker="Anvil & Sons")
    old = Inspection.objects.filter(item__tag="G-2").latest("pk")
    yard.do(
        correct, old, replace(entered(old), certificate="C-77"), "the certificate was left out", who="eve"
    )
    planned = yard.plan("J-1", yard.arrangement())
    yard.reserve(planned)
    for tag in ("G-1", "G-2"):
        yard.do(issue_piece, planned, Item.objects.get(tag=tag), who="sal")
    out = planned.reservations.get(item__tag="G-1")
    yard.do(take_back, out, "damaged", who="sal", why="glass broken")
    return planned


def pdf(answer: HttpResponse) -> bytes:
    assert answer.status_code == 200, answer.content[:300]
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    return answer.content


def text(content: bytes) -> str:
    return " ".join(pages(content))


def in_german(client: Client) -> Client:
    client.cookies["django_language"] = "de"
    return client


def test_the_passport_tells_every_record_job_case_and_file_and_what_corrects_what(yard: Yard, job: Job):
    damaged = Item.objects.get(tag="G-1")
    yard.do(attach, damaged, "broken.png", PNG, who="sal", case=QuarantineCase.objects.get(item=damaged))
    content = pdf(yard.client("lee").get(reverse("passport", args=["G-1"])))
    said = text(content)
    digest = hashlib.sha256(PNG).hexdigest()
    assert Attachment.objects.get().sha256 == digest
    for part in (
        "Item passport",
        "SER-G-1",
        "J-1",
        "glass broken",
        "broken.png",
        "Does not meet its recorded",
    ):
        assert part in said, part
    assert digest in run_together(said)
    for entry in LedgerEntry.objects.filter(mentions__about="item:G-1").exclude(deed=Deed.PRINTED):
        assert entry.hash[:12] in run_together(said), entry
    assert qr_codes(content)[0] == ["G-1"]

    old = Inspection.objects.get(item__tag="G-2", corrections__isnull=False)
    other = text(pdf(yard.client("lee").get(reverse("passport", args=["G-2"]))))
    assert f"DOES NOT COUNT: record {old.corrections.get().pk} corrects it." in other
    assert f"Corrects record {old.pk}." in other
    assert "C-77" in other


def test_the_last_entry_named_is_that_of_the_printing(yard: Yard, job: Job):
    said = run_together(text(pdf(yard.client("eve").get(reverse("passport", args=["G-1"])))))
    head = LedgerEntry.objects.latest("number")
    assert (head.deed, head.actor) == (Deed.PRINTED, "eve")
    assert head.hash in said
    assert prove_ledger().fault is None


def test_a_long_story_runs_over_many_numbered_pages(yard: Yard):
    item = yard.receive("G-7")
    for ago in range(120, 1, -1):
        yard.inspect(item, Inspection.objects.filter(item=item).latest("pk").check_done.name, days_ago=ago)
    content = pdf(yard.client("lee").get(reverse("passport", args=["G-7"])))
    printed = pages(content)
    assert len(printed) > 6
    for number, page in enumerate(printed, start=1):
        assert f"page {number} of {len(printed)}" in page
    said = run_together(" ".join(printed))
    for entry in LedgerEntry.objects.filter(mentions__about="item:G-7").exclude(deed=Deed.PRINTED):
        assert entry.hash[:12] in said


def test_the_evidence_sheet_says_what_each_piece_met_on_which_record_and_names_whole_hashes(
    yard: Yard, job: Job
):
    content = pdf(yard.client("lee").get(reverse("evidence", args=["J-1"])))
    said = text(content)
    day = f"{timezone.localdate():%-d %b %Y}"
    for part in (
        "Every piece met its recorded requirements when it went out",
        f"G-1: met its recorded requirements on {day}",
        f"G-2: met its recorded requirements on {day}",
        "Anvil & Sons SER-G-1",
        "Certificate C-77.",
        "glass broken",
        "still out",
        "No record above names a gauge.",
    ):
        assert part in said, part
    together = run_together(said)
    for entry in LedgerEntry.objects.filter(mentions__about="job:J-1"):
        assert entry.hash in together, entry
    correction = LedgerEntry.objects.get(deed=Deed.CORRECTED)
    assert correction.hash in together
    assert qr_codes(content)[0] == ["J-1"]


def test_a_later_entry_that_bears_on_the_day_is_named(yard: Yard, job: Job):
    old = Inspection.objects.filter(item__tag="G-1").latest("pk")
    yard.do(correct, old, replace(entered(old), verdict="fail"), "read the wrong way", who="eve")
    said = text(pdf(yard.client("lee").get(reverse("evidence", args=["J-1"]))))
    entry = LedgerEntry.objects.filter(deed=Deed.CORRECTED).latest("number")
    assert re.search(rf"Entered later, and bears on that day: entries [\d, ]*\b{entry.number}\.", said)
    assert "As known now, this differs: fit until" in said


def test_there_is_no_evidence_of_a_job_that_took_nothing(yard: Yard):
    planned = yard.plan("J-2", yard.arrangement())
    answer = yard.client("lee").get(reverse("evidence", args=["J-2"]), follow=True)
    assert "there is no evidence of it" in answer.content.decode()
    assert not planned.reservations.exists()


def test_what_is_out_of_sight_has_no_paper(yard: Yard):
    yard.receive("W-1", depot=yard.weir)
    assert yard.client("lee").get(reverse("passport", args=["W-1"])).status_code == 404


def test_both_are_offered_on_their_pages(yard: Yard, job: Job):
    client = yard.client("cal")
    assert reverse("passport", args=["G-1"]) in client.get(reverse("item", args=["G-1"])).content.decode()
    assert reverse("evidence", args=["J-1"]) in client.get(reverse("job", args=["J-1"])).content.decode()


@pytest.mark.parametrize(
    ("name", "about", "words"),
    [
        ("passport", "G-1", ("Seite 1 von", "Ausgegeben", "nicht die erfassten Anforderungen", "Manometer")),
        ("evidence", "J-1", ("Seite 1 von", "Ausgegeben", "erfüllte am")),
    ],
)
def test_in_german_the_paper_is_german_and_says_so_to_a_screen_reader(
    yard: Yard, job: Job, name: str, about: str, words: tuple[str, ...]
):
    content = pdf(in_german(yard.client("lee")).get(reverse(name, args=[about])))
    document = reader(content)
    assert str(document.trailer["/Root"]["/Lang"]).startswith("de")
    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"].value is True
    for word in words:
        assert word in text(content), word
    assert "Printed" not in text(content)


def test_a_row_has_as_many_cells_as_there_are_columns():
    with pytest.raises(ValueError, match="1 cells for 2 columns"):
        Part("Kit", columns=[Column("a"), Column("b")], rows=[["x"]])
