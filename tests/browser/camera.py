"""A camera that shows one picture: Chromium takes a film of it for its camera."""

from __future__ import annotations

import io
from pathlib import Path

import pypdfium2
from PIL import Image, ImageFilter

from kit.label_stock import STOCKS
from kit.papers.labels import Label, Symbology, labels_pdf
from tests.kit.papers.examples import STAMP

WIDE, HIGH = 640, 480


def film(picture: Image.Image, into: Path) -> Path:
    """The picture as a film of two frames that a browser takes for a camera (YUV4MPEG2, 4:2:0)."""
    bright, blue, red = picture.convert("YCbCr").split()
    half = (WIDE // 2, HIGH // 2)
    frame = b"FRAME\n" + bright.tobytes() + blue.resize(half).tobytes() + red.resize(half).tobytes()
    into.write_bytes(f"YUV4MPEG2 W{WIDE} H{HIGH} F10:1 Ip A1:1 C420jpeg\n".encode() + 2 * frame)
    return into


def label_before_the_camera(tag: str) -> Image.Image:
    """The label as it is printed at 203 dpi, held a little askew and not quite in focus, before a grey bench."""
    pdf = labels_pdf([Label(tag, "hand tool")], STOCKS["roll-60x40"], Symbology.QR, STAMP)
    printed = pypdfium2.PdfDocument(io.BytesIO(pdf))[0].render(scale=203 / 72).to_pil().convert("RGB")
    seen = Image.new("RGB", (WIDE, HIGH), (120, 120, 120))
    seen.paste(printed, ((WIDE - printed.width) // 2, (HIGH - printed.height) // 2))
    return seen.rotate(7, fillcolor=(120, 120, 120)).filter(ImageFilter.GaussianBlur(1))


def arguments(shown: Path) -> tuple[str, ...]:
    """What Chromium is started with so that its camera shows this film, unasked."""
    return (
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-video-capture={shown}",
    )
