"""From plain data to a tagged PDF: the one place where the typesetter is called.

The data reach the sheet as JSON in an input that the sheet reads with `json()`. No text of a user's is ever
part of the source that is typeset, so it cannot act as markup or code.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from pathlib import Path

import segno
import typst
from django.utils.translation import gettext as _

from kit.papers.fonts import fonts
from kit.papers.printable import LONGEST_TEXT, printable
from kit.papers.said import language
from kit.papers.sheet_words import sheet_words
from kit.papers.stamp import Stamp
from kit.papers.wording import moment

SHEETS = Path(__file__).parent / "sheets"

Plain = str | int | bool | None | list["Plain"] | dict[str, "Plain"]


class QrSvg(str):
    """An SVG picture of a QR code; passed on as it is, not made printable."""


def typeset(
    sheet: str, title: str, stamp: Stamp, data: Mapping[str, Plain], longest: int = LONGEST_TEXT
) -> bytes:
    """The PDF of `sheet` (a name in `sheets/`) filled with `data`: tagged (PDF/UA-1), dated, no text over `longest`.

    The sheet's own words come in the active language; those in `data` are the caller's.

    The same data in the same language give the same bytes. Raises typst.TypstError if the sheet is at fault, as when it
    says a word that `sheet_words` lacks, never for a text.
    """
    inputs: dict[str, Plain] = {
        "title": printable(title),
        "lang": language(),
        "says": dict(sheet_words()),
        "printed": _("Printed %(at)s · revision %(n)s")
        % {"at": moment(stamp.printed_at), "n": stamp.revision},
        "ledger": _("ledger %(entry)s") % {"entry": stamp.ledger},
        **{key: _printable(value, longest) for key, value in data.items()},
    }
    pdf = typst.compile(
        SHEETS / f"{sheet}.typ",
        root=SHEETS,
        font_paths=fonts(),
        format="pdf",
        sys_inputs={"data": json.dumps(inputs, ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=int(stamp.printed_at.timestamp()),
    )
    assert isinstance(pdf, bytes)
    return pdf


def qr_svg(tag: str) -> QrSvg:
    """A QR code that reads exactly `tag`, with its quiet zone of four modules (ISO/IEC 18004)."""
    picture = io.BytesIO()
    segno.make_qr(tag, error="m").save(picture, kind="svg", border=4, xmldecl=False, omitsize=True)
    return QrSvg(picture.getvalue().decode())


def _printable(value: Plain, longest: int) -> Plain:
    if isinstance(value, QrSvg):
        return str(value)
    if isinstance(value, str):
        return printable(value, longest)
    if isinstance(value, list):
        return [_printable(part, longest) for part in value]
    if isinstance(value, dict):
        return {key: _printable(part, longest) for key, part in value.items()}
    return value
