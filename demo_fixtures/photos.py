"""Drawings that stand for photos and a scanned certificate in the demo: nothing in them was photographed or scanned."""

from __future__ import annotations

import io
from collections.abc import Callable

from PIL import Image, ImageDraw, ImageFilter

SIZE = (960, 720)
PAGE = (620, 877)
RUBBER, BENCH, CHALK, DARK, METAL = "#3b3a38", "#b7a98c", "#f3efe4", "#171513", "#8f959a"

Drawing = Callable[[ImageDraw.ImageDraw], None]


def _photo(draw: Drawing) -> bytes:
    picture = Image.new("RGB", SIZE, BENCH)
    pen = ImageDraw.Draw(picture)
    for x in range(0, SIZE[0], 48):
        pen.line((x, 0, x - 60, SIZE[1]), fill="#ab9d80", width=3)
    draw(pen)
    # Soft as a phone's picture under a lamp.
    softened = picture.filter(ImageFilter.GaussianBlur(1.4))
    ImageDraw.Draw(softened).text((16, SIZE[1] - 44), "drawn for the demo", fill=DARK, font_size=26)
    into = io.BytesIO()
    softened.save(into, "JPEG", quality=80)
    return into.getvalue()


def _bag(pen: ImageDraw.ImageDraw) -> None:
    pen.ellipse((150, 130, 810, 590), fill=RUBBER, outline=DARK, width=8)
    pen.rounded_rectangle((430, 60, 530, 180), 20, fill=METAL, outline=DARK, width=6)
    pen.arc((210, 190, 750, 540), 20, 160, fill="#57544f", width=10)


def _ruler(pen: ImageDraw.ImageDraw, x: int, y: int) -> None:
    pen.rectangle((x, y, x + 320, y + 46), fill=CHALK, outline=DARK, width=3)
    for step in range(17):
        pen.line((x + step * 20, y, x + step * 20, y + (26 if step % 5 == 0 else 14)), fill=DARK, width=3)


def cut_skirt() -> bytes:
    """A bag with a cut, and a rule laid beside it."""

    def draw(pen: ImageDraw.ImageDraw) -> None:
        _bag(pen)
        pen.line((520, 440, 560, 470, 590, 462, 640, 496), fill=CHALK, width=9)
        pen.line((520, 440, 560, 470, 590, 462, 640, 496), fill=DARK, width=4)
        _ruler(pen, 430, 520)

    return _photo(draw)


def whole_bag() -> bytes:
    def draw(pen: ImageDraw.ImageDraw) -> None:
        _bag(pen)
        pen.line((600, 430, 650, 500), fill=CHALK, width=6)

    return _photo(draw)


def leaking_seam() -> bytes:
    """A seam with bubbles of leak-detection fluid, ringed in chalk."""

    def draw(pen: ImageDraw.ImageDraw) -> None:
        _bag(pen)
        pen.line((180, 360, 780, 360), fill="#6b665e", width=6)
        for x, y, r in ((470, 352, 16), (496, 340, 22), (524, 356, 14), (508, 372, 18), (540, 338, 10)):
            pen.ellipse((x - r, y - r, x + r, y + r), fill="#dfe6e8", outline=METAL, width=3)
        pen.ellipse((420, 280, 600, 430), outline=CHALK, width=7)

    return _photo(draw)


def cracked_detector() -> bytes:
    """A detector with a cracked housing."""

    def draw(pen: ImageDraw.ImageDraw) -> None:
        pen.rounded_rectangle((300, 110, 660, 610), 40, fill="#c9871f", outline=DARK, width=8)
        pen.rounded_rectangle((350, 180, 610, 330), 12, fill="#cfd8c4", outline=DARK, width=6)
        pen.text((392, 216), "3 %", fill=DARK, font_size=72)
        pen.line((340, 420, 420, 470, 440, 530, 520, 600), fill=DARK, width=6)

    return _photo(draw)


def certificate(number: str, tag: str, day: str, verdict: str) -> bytes:
    """One page as a scanner makes it: a picture in a PDF."""
    page = Image.new("L", PAGE, "white")
    pen = ImageDraw.Draw(page)
    pen.rectangle((24, 24, PAGE[0] - 24, PAGE[1] - 24), outline="black", width=2)
    for y, said, size in (
        (70, "Certificate of calibration", 34),
        (130, "made up for the demo", 20),
        (220, f"Number: {number}", 26),
        (270, f"Instrument: {tag}", 26),
        (320, f"Done on: {day}", 26),
        (370, f"Verdict: {verdict}", 26),
    ):
        pen.text((60, y), said, fill="black", font_size=size)
    into = io.BytesIO()
    page.save(into, "PDF")
    return into.getvalue()
