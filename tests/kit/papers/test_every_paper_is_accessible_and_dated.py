"""Whatever the paper: tagged for a screen reader, dated on every sheet, black on white, nothing small."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from tests.kit.papers.examples import EVERY_PAPER, operations, pages, reader

PDFUAID = "{http://www.aiim.org/pdfua/ns/id/}part"  # ISO 14289-1, clause 5


@pytest.fixture(params=EVERY_PAPER, scope="module")
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def pdf(name: str) -> bytes:
    return EVERY_PAPER[name]()


def test_says_that_it_is_pdf_ua_1(pdf: bytes) -> None:
    metadata = reader(pdf).trailer["/Root"]["/Metadata"].get_object().get_data()
    part = ElementTree.fromstring(re.sub(rb"<\?xpacket.*?\?>", b"", metadata)).find(f".//{PDFUAID}")
    assert part is not None
    assert part.text == "1"


def test_is_tagged_in_english_and_shows_its_title(pdf: bytes) -> None:
    document = reader(pdf)
    catalogue = document.trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"].value is True
    assert catalogue["/StructTreeRoot"]["/K"]
    assert str(catalogue["/Lang"]).startswith("en")
    assert catalogue["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert document.metadata is not None
    assert document.metadata.title


def test_titles_name_the_paper_and_what_it_is_about(name: str, pdf: bytes) -> None:
    metadata = reader(pdf).metadata
    assert metadata is not None
    about = "NY-BAG-0041" if re.search("tag|disposal|record|passport", name) else "J-1042"
    if name == "transfer note":
        about = "T12, North yard to Mill bank"
    if name == "bench sheet":
        about = "North yard, 12 Nov 2026"
    assert metadata.title is not None
    assert metadata.title.startswith(name.removesuffix(" on A4").capitalize())
    assert about in metadata.title


def test_every_page_has_its_number_printing_time_revision_and_ledger_mark(pdf: bytes) -> None:
    printed = pages(pdf)
    for number, page in enumerate(printed, start=1):
        assert f"page {number} of {len(printed)}" in page
        assert "Printed Thu 12 Nov 2026 05:52 GMT · revision 3" in page
        assert "ledger 1234 · ab12cd34ef56" in page
        assert "ab12cd34ef560" not in page


def test_the_same_values_give_the_same_bytes(name: str, pdf: bytes) -> None:
    assert EVERY_PAPER[name]() == pdf


def test_every_typeface_is_embedded_and_one_of_ours(pdf: bytes) -> None:
    fonts = [font.get_object() for page in reader(pdf).pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        assert re.fullmatch(r"/[A-Z]{6}\+(AtkinsonHyperlegible-\w+|DejaVuSansMono(-\w+)?)", font["/BaseFont"])
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


def test_nothing_is_grey_or_coloured(pdf: bytes) -> None:
    inks = [
        tuple(float(operand) for operand in operands if not isinstance(operand, str))
        for operator, operands in operations(pdf)
        if operator in {b"g", b"G", b"rg", b"RG", b"k", b"K", b"sc", b"SC", b"scn", b"SCN"}
    ]
    assert inks
    assert {value for ink in inks for value in ink} <= {0.0, 1.0}
    assert all(len(set(ink)) == 1 for ink in inks)


def test_no_type_is_smaller_than_nine_and_a_half_points(pdf: bytes) -> None:
    sizes: list[float] = []

    def note(text: str, _page: object, matrix: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes.append(abs(size * matrix[3]))

    for page in reader(pdf).pages:
        page.extract_text(visitor_text=note)
    assert sizes
    assert min(sizes) >= 9.5 - 1e-6


def test_every_picture_says_in_words_what_it_is(pdf: bytes) -> None:
    document = reader(pdf)
    elements = [document.get_object(number) for number in range(1, document.trailer["/Size"])]
    figures = [
        element for element in elements if isinstance(element, dict) and element.get("/S") == "/Figure"
    ]
    assert figures
    assert all(str(figure["/Alt"]).startswith("QR code that reads ") for figure in figures)
