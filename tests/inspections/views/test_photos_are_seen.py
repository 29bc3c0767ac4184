"""Photos of a piece, a record or a case: seen small where they belong, opened large, with who, when and words."""

from __future__ import annotations

import io

import pytest
from django.db import connection
from django.urls import reverse
from PIL import Image

from inspections.actions.attach import attach
from inspections.actions.cases import open_case
from inspections.models import Attachment, Inspection
from inspections.photos import LARGE, MOST_PIXELS, SMALL, is_upright, shrunk
from kit import guards
from kit.models import Item, Reservation
from kit.stores import issue_piece, quarantine, take_back
from tests.kit.views.holm import Yard

PDF = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"


def picture(width: int = 900, height: int = 600, seed: int = 1, **saved: object) -> bytes:
    """A JPEG; the seed makes each of several another file."""
    into = io.BytesIO()
    Image.new("RGB", (width, height), (seed % 256, 90, 60)).save(into, "JPEG", **saved)
    return into.getvalue()


def opened(content: bytes | None) -> Image.Image:
    assert content is not None
    return Image.open(io.BytesIO(content))


def test_it_is_made_smaller_and_carries_nothing_but_pixels():
    exif = Image.Exif()
    exif[0x0112] = 6  # it lay on its side
    exif[0x010F] = "Phone of somebody"
    original = picture(exif=exif)
    assert b"Phone of somebody" in original
    for longest in (SMALL, LARGE):
        made = opened(shrunk(original, longest))
        assert made.format == "WEBP"
        assert made.size == (min(longest, 900) * 2 // 3, min(longest, 900))
        assert not made.getexif()
    assert is_upright(original)
    assert not is_upright(picture())


def test_it_stands_on_white_where_the_ground_shines_through():
    into = io.BytesIO()
    Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(into, "PNG")
    assert opened(shrunk(into.getvalue(), SMALL)).convert("RGB").getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize("content", [b"", PDF, b"\xff\xd8\xff\xe0" + b"0" * 50, picture()[:300]])
def test_what_is_no_picture_is_drawn_by_nobody(content: bytes):
    assert shrunk(content, SMALL) is None
    assert not is_upright(content)


def test_a_file_that_claims_too_many_pixels_is_not_read(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("inspections.photos.MOST_PIXELS", 900 * 600 - 1)
    assert MOST_PIXELS > 50_000_000
    assert shrunk(picture(), SMALL) is None


@pytest.fixture
def bag(yard: Yard) -> Item:
    """A bag that was set aside: a photo of it, one of its record, one of its case, and a PDF."""
    made = yard.receive("B-1", kind="bag", maker="Pell", batch="L7")
    yard.do(quarantine, made, "cut in the skirt")
    record = Inspection.objects.filter(item=made).latest("pk")
    yard.do(attach, made, "whole.jpg", picture(seed=1), note="The whole bag", who="sal")
    yard.do(
        attach, made, "seam.jpg", picture(seed=2), note="Bubbles at the seam", inspection=record, who="eve"
    )
    yard.do(attach, made, "IMG_9.jpg", picture(seed=3), case=open_case(made), who="cal")
    yard.do(attach, made, "c.pdf", PDF, note="certificate", who="eve")
    return made


def shown(yard: Yard, name: str, of: object, **asked: str) -> str:
    answer = yard.client("sal").get(reverse(name, args=[of]), asked)
    assert answer.status_code == 200
    return answer.content.decode()


def thumbs(page: str) -> list[str]:
    return [part.partition("</li>")[0] for part in page.split('<li class="photo">')[1:]]


def test_the_page_of_the_piece_shows_all_of_them_with_words_who_and_when(yard: Yard, bag: Item):
    newest, of_record, of_piece = thumbs(shown(yard, "item", "B-1"))
    photo = Attachment.objects.get(name="whole.jpg")
    assert f'href="{reverse("photo", args=[photo.pk])}"' in of_piece
    assert f'src="{reverse("photo_seen", args=[photo.pk, "small"])}"' in of_piece
    assert 'alt="The whole bag"' in of_piece
    assert 'loading="lazy"' in of_piece
    for said in ("sal, ", yard.today.strftime("%Y")):
        assert said in of_piece, "who and when"
    assert 'alt="Bubbles at the seam"' in of_record
    check = Attachment.objects.get(name="seam.jpg").inspection.check_done.name
    assert f"B-1, {check} of " in of_record
    assert "nobody has said what it shows" in newest
    assert f"B-1, case {open_case(bag).pk}" in newest
    assert "c.pdf" in shown(yard, "item", "B-1")


def test_a_record_and_a_case_show_their_own_only(yard: Yard, bag: Item):
    record = Attachment.objects.get(name="seam.jpg").inspection
    [one] = thumbs(shown(yard, "inspection", record.pk))
    assert "Bubbles at the seam" in one
    [one] = thumbs(shown(yard, "case", open_case(bag).pk))
    assert "nobody has said" in one


def test_kind_and_batch_show_the_newest_of_their_pieces(yard: Yard, bag: Item):
    for name, of in (("kind_page", "bag"), ("maker_batch", "B-1")):
        page = shown(yard, name, of)
        assert len(thumbs(page)) == 3
        assert "B-1, case " in page
    assert not thumbs(shown(yard, "kind_page", "gauge"))
    yard.receive("B-2", kind="bag", maker="Pell", batch="L8")
    assert not thumbs(shown(yard, "maker_batch", "B-2"))


def test_a_job_shows_those_of_the_case_that_came_from_it(yard: Yard):
    yard.receive("G-1")
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.reserve(job)
    gauge = Item.objects.get(tag="G-1")
    yard.do(issue_piece, job, gauge)
    yard.do(take_back, Reservation.objects.get(job=job), "damaged", why="glass cracked")
    yard.do(attach, gauge, "glass.jpg", picture(), note="Cracked glass", case=open_case(gauge))
    yard.do(attach, gauge, "other.jpg", picture(seed=8), note="In the store before")
    [one] = thumbs(shown(yard, "job", "J-1"))
    assert 'alt="Cracked glass"' in one


def test_it_opens_on_a_page_that_says_what_is_known_and_leads_on(yard: Yard, bag: Item):
    photo = Attachment.objects.get(name="seam.jpg")
    page = shown(yard, "photo", photo.pk)
    assert f'src="{reverse("photo_seen", args=[photo.pk, "large"])}" alt="Bubbles at the seam"' in page
    for said in ("Photo 2 of 3", "seam.jpg", photo.sha256, ">eve<"):
        assert said in page
    for address in (
        reverse("item", args=["B-1"]),
        reverse("inspection", args=[photo.inspection_id]),
        reverse("file", args=[photo.pk]),
        reverse("photo", args=[Attachment.objects.get(name="whole.jpg").pk]),
        reverse("photo", args=[Attachment.objects.get(name="IMG_9.jpg").pk]),
    ):
        assert f'href="{address}' in page, address


def test_it_is_shown_to_who_may_see_the_piece_only_and_only_if_it_is_a_photo(yard: Yard, bag: Item):
    photo = Attachment.objects.get(name="seam.jpg")
    answer = yard.client("cal").get(reverse("photo_seen", args=[photo.pk, "small"]))
    assert answer["Content-Type"] == "image/webp"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "private" in answer["Cache-Control"]
    assert opened(answer.content).size == (320, 213)
    paper = Attachment.objects.get(name="c.pdf")
    for who, address in (
        ("wyn", reverse("photo_seen", args=[photo.pk, "small"])),
        ("wyn", reverse("photo", args=[photo.pk])),
        ("sal", reverse("photo", args=[paper.pk])),
        ("sal", reverse("photo_seen", args=[paper.pk, "small"])),
        ("sal", reverse("photo_seen", args=[photo.pk, "huge"])),
        ("sal", reverse("photo", args=[999_999])),
    ):
        assert yard.client(who).get(address).status_code == 404, address


def test_bytes_that_were_altered_are_not_shown_and_the_page_says_so(yard: Yard, bag: Item):
    photo = Attachment.objects.get(name="seam.jpg")
    with connection.cursor() as cursor:
        guards.unprotect(cursor.execute, connection.vendor, "inspections_attachmentbytes")
        cursor.execute(
            "UPDATE inspections_attachmentbytes SET content = %s WHERE attachment_id = %s",
            [picture(seed=77), photo.pk],
        )
    page = shown(yard, "photo", photo.pk)
    assert "is not what was attached" in page
    address = reverse("photo_seen", args=[photo.pk, "large"])
    assert address not in page
    assert yard.client("sal").get(address).status_code == 404


def test_many_photos_are_shown_in_part_and_cost_no_more_queries(yard: Yard, django_assert_max_num_queries):
    gauge = yard.receive("G-1")
    for seed in range(11):
        yard.do(attach, gauge, f"{seed}.jpg", picture(seed=seed * 20), note=f"photo {seed}")
    client = yard.client("sal")
    address = reverse("item", args=["G-1"])
    with django_assert_max_num_queries(75):
        page = client.get(address).content.decode()
    assert len(thumbs(page)) == 8
    assert 'href="?files=all#files"' in page
    assert "All 11 photos" in page
    assert len(thumbs(client.get(address, {"files": "all"}).content.decode())) == 11
