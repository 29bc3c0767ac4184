"""Labels, read back from the PDF by a decoder that had no part in making them (zxing-cpp), sharp and blurred.

Measured with 500 labels: at a blur of 0.4 modules one Data Matrix is not read; at 0.5 many of either sort are not.
"""

from __future__ import annotations

import random
import re
import string
from collections.abc import Sequence

import numpy
import pypdfium2
import pytest
import segno
import zxingcpp
from PIL import Image, ImageFilter

from kit.label_stock import STOCKS, LabelStock
from kit.papers.labels import Label, Symbology, data_matrix_svg, labels_pdf
from tests.counts import labels as how_many
from tests.kit.papers.examples import STAMP, pages, reader

FORMATS = {
    Symbology.QR: zxingcpp.BarcodeFormat.QRCode,
    Symbology.DATA_MATRIX: zxingcpp.BarcodeFormat.DataMatrix,
}
WAYS = (
    zxingcpp.Binarizer.LocalAverage,
    zxingcpp.Binarizer.FixedThreshold,
    zxingcpp.Binarizer.GlobalHistogram,
)
LABEL_PRINTER_DPI = 203
CODE_MM = 25.3
"""How wide a code is drawn on a label of 60 by 40 mm: 46 % of what is left inside its edges."""


def made_up(number: int) -> list[Label]:
    """Tags of 4 to 20 characters, no two alike, of what tags are usually written with."""
    chance = random.Random(number)
    signs = string.ascii_uppercase + string.digits
    return [
        Label(
            f"{index:03d}-{''.join(chance.choices(signs, k=chance.randint(0, 12)))}{chance.choice(signs + '/.')}",
            "bag",
            "150–180 mm",
            "M3",
            "31 Mar 2027",
        )
        for index in range(number)
    ]


def modules_across(tag: str, symbology: Symbology) -> int:
    """Modules of the printed picture from side to side, with its quiet zone."""
    if symbology is Symbology.QR:
        return int(segno.make_qr(tag, error="m").symbol_size(border=4)[0])
    size = re.search(r'viewBox="0 0 (\d+) ', data_matrix_svg(tag))
    assert size is not None
    return int(size[1])


def read_back(pdf: bytes, symbology: Symbology, blur: Sequence[float] = ()) -> list[str]:
    """What the codes read at 203 dpi. `blur`: for each page the standard deviation of a Gaussian blur, in pixels.

    A page counts as read with the first of the decoder's ways of telling black from white that finds a code, as a
    scanner tries again with its next picture.
    """
    read: list[str] = []
    for number, page in enumerate(pypdfium2.PdfDocument(pdf)):
        picture: Image.Image = page.render(scale=LABEL_PRINTER_DPI / 72, grayscale=True).to_pil()
        if blur:
            picture = picture.filter(ImageFilter.GaussianBlur(blur[number]))
        tries = (
            [
                code.text
                for code in zxingcpp.read_barcodes(
                    numpy.asarray(picture), formats=FORMATS[symbology], binarizer=way
                )
            ]
            for way in WAYS
        )
        read += next((found for found in tries if found), [])
    return read


@pytest.mark.parametrize("modules_blurred", [0, 0.35])
@pytest.mark.parametrize("symbology", Symbology)
def test_every_label_reads_as_its_tag(symbology: Symbology, modules_blurred: float) -> None:
    labels = made_up(how_many())
    pdf = labels_pdf(labels, STOCKS["roll-60x40"], symbology, STAMP)
    across = CODE_MM / 25.4 * LABEL_PRINTER_DPI
    blur = [modules_blurred * across / modules_across(label.tag, symbology) for label in labels]
    assert read_back(pdf, symbology, blur if modules_blurred else ()) == [label.tag for label in labels]


@pytest.mark.parametrize("symbology", Symbology)
@pytest.mark.parametrize("stock", STOCKS.values(), ids=str)
def test_on_every_stock_each_label_is_there_once(stock: LabelStock, symbology: Symbology) -> None:
    labels = made_up(stock.a_page + 1)
    pdf = labels_pdf(labels, stock, symbology, STAMP)
    assert len(reader(pdf).pages) == 2
    assert sorted(read_back(pdf, symbology)) == sorted(label.tag for label in labels)


def test_it_says_in_words_what_a_person_looks_for() -> None:
    [text] = pages(labels_pdf(made_up(1), STOCKS["roll-60x40"], Symbology.QR, STAMP))
    for part in (made_up(1)[0].tag, "bag", "150–180 mm", "mark M3", "Use by", "31 Mar 2027"):
        assert part in text, part


def test_a_part_used_sheet_is_begun_where_it_is_still_whole() -> None:
    stock = STOCKS["sheet-60x40"]
    pdf = labels_pdf(made_up(1), stock, Symbology.QR, STAMP, start=stock.columns + 2)
    picture = numpy.asarray(pypdfium2.PdfDocument(pdf)[0].render(scale=1, grayscale=True).to_pil())
    down, across = numpy.nonzero(picture < 128)
    millimetres = 25.4 / 72
    assert stock.left_mm + stock.pitch_x_mm <= across.min() * millimetres
    assert across.max() * millimetres <= stock.left_mm + 2 * stock.pitch_x_mm
    assert stock.top_mm + stock.pitch_y_mm <= down.min() * millimetres
    assert down.max() * millimetres <= stock.top_mm + 2 * stock.pitch_y_mm


def test_it_is_tagged_and_names_itself() -> None:
    document = reader(labels_pdf(made_up(1), STOCKS["roll-60x40"], Symbology.QR, STAMP))
    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"].value is True
    assert document.metadata is not None
    assert document.metadata.title == f"Labels, {made_up(1)[0].tag}"


@pytest.mark.parametrize("start", [0, 19])
def test_a_position_off_the_sheet_is_refused(start: int) -> None:
    with pytest.raises(ValueError, match="is not on the sheet: the sheet has 18"):
        labels_pdf(made_up(1), STOCKS["sheet-60x40"], Symbology.QR, STAMP, start)


def test_what_readers_differ_over_is_refused() -> None:
    with pytest.raises(ValueError, match="with a QR code"):
        data_matrix_svg("NY-Ä1")


def test_labels_past_the_page_are_refused() -> None:
    with pytest.raises(ValueError, match="past the page"):
        LabelStock("wide", 210, 297, 120, 40, 2, 1, 0, 0, 120, 40)
