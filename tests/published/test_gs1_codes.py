"""Codes of GS1 that name a piece, against published examples and the encoder of an independent library."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import zxingcpp

from kit.planning.scanned_codes import read_code

VALUES = json.loads((Path(__file__).parent / "values.json").read_text())
(ELEMENT_STRING,) = [value for value in VALUES if value["id"] == "gs1-element-string"]


def test_element_string_of_the_general_specifications() -> None:
    """Source: values.json (GS1 General Specifications; biip 5.2.0)."""
    code = read_code(ELEMENT_STRING["inputs"])
    assert (code.article, code.batch) == (ELEMENT_STRING["expected"]["01"], ELEMENT_STRING["expected"]["10"])


@pytest.mark.parametrize(
    ("link", "article", "batch", "serial"),
    [
        ("https://id.gs1.org/01/09520123456788", "09520123456788", "", ""),
        (
            "https://id.gs1.org/01/09520123456788/10/ABC1/21/12345?17=180426",
            "09520123456788",
            "ABC1",
            "12345",
        ),
        ("https://example.com/some/path/01/09520123456788/21/12345", "09520123456788", "", "12345"),
    ],
)
def test_web_addresses_of_the_digital_link_standard(link: str, article: str, batch: str, serial: str) -> None:
    """Source: GS1 Digital Link Standard, URI Syntax, its examples with GTIN 9520123456788 (from memory)."""
    code = read_code(link)
    assert (code.article, code.batch, code.serial) == (article, batch, serial)


@pytest.mark.parametrize("symbol", ["DataMatrix", "QRCode", "Code128"])
def test_what_a_decoder_reads_from_a_printed_code_is_read(symbol: str) -> None:
    """Made and decoded again by zxing-cpp, which writes the separator as some scanners do."""
    made = zxingcpp.create_barcode(
        "0109521234543213214711\x1d10B2403", getattr(zxingcpp.BarcodeFormat, symbol)
    )
    (seen,) = zxingcpp.read_barcodes(zxingcpp.write_barcode_to_image(made, scale=4))
    code = read_code(seen.symbology_identifier + seen.text)
    assert (code.serial, code.batch, code.article) == ("4711", "B2403", "09521234543213")
