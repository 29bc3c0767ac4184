"""Labels: a code that the scan box reads as the item's tag, and in words what a person looks for on a shelf."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from django.utils.translation import gettext as _
from ppf.datamatrix import DataMatrix  # type: ignore[import-untyped]

from kit.label_stock import LabelStock
from kit.papers.printable import printable
from kit.papers.stamp import Stamp, needs_text
from kit.papers.typeset import Plain, QrSvg, qr_svg, typeset

QUIET_MODULES = 2
"""Clear space round a Data Matrix; ISO/IEC 16022 asks for one module, a blurred print is glad of a second."""


class Symbology(Enum):
    QR = "qr"
    DATA_MATRIX = "data-matrix"


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says. `use_by` as it is to be read, empty where none is recorded."""

    tag: str
    kind: str
    size: str = ""
    mark: str = ""
    use_by: str = ""

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")


def labels_pdf(
    labels: Sequence[Label],
    stock: LabelStock,
    symbology: Symbology,
    stamp: Stamp,
    start: int = 1,
) -> bytes:
    """The labels in order on the stock, the first on position `start` of the first sheet, counted along the rows.

    In the active language. Raises ValueError if there are none, `start` is not on the sheet, or a tag cannot be written
    as Data Matrix.
    """
    if not labels:
        raise ValueError("No label is asked for: choose an item or more.")
    if not 1 <= start <= stock.a_page:
        raise ValueError(f"Position {start} is not on the sheet: the sheet has {stock.a_page}.")
    draw, name = (qr_svg, "QR code") if symbology is Symbology.QR else (data_matrix_svg, "Data Matrix code")
    data: dict[str, Plain] = {
        "code": name,
        "page": [f"{stock.page_width_mm}mm", f"{stock.page_height_mm}mm"],
        "label": [f"{stock.label_width_mm}mm", f"{stock.label_height_mm}mm"],
        "pages": [
            [
                {
                    **_facts(label),
                    "qr": draw(label.tag),
                    "x": x,
                    "y": y,
                }
                for label, (x, y) in zip(on_page, places, strict=True)
            ]
            for on_page, places in _placed(labels, stock, start)
        ],
    }
    about = labels[0].tag if len(labels) == 1 else str(len(labels))
    return typeset("labels", f"{_('Labels')}, {about}", stamp, data)


def _placed(
    labels: Sequence[Label], stock: LabelStock, start: int
) -> list[tuple[Sequence[Label], list[tuple[str, str]]]]:
    spots = [(f"{x}mm", f"{y}mm") for x, y in stock.places()]
    pages = []
    at, first = 0, start - 1
    while at < len(labels):
        on_page = labels[at : at + stock.a_page - first]
        pages.append((on_page, spots[first : first + len(on_page)]))
        at, first = at + len(on_page), 0
    return pages


def _facts(label: Label) -> dict[str, Plain]:
    return {
        "tag": label.tag,
        "kind": printable(label.kind, 24),
        "size": printable(label.size, 24),
        "mark": printable(label.mark, 20),
        "use_by": printable(label.use_by, 24),
    }


def data_matrix_svg(tag: str) -> QrSvg:
    """A square Data Matrix (ECC 200, ISO/IEC 16022) that reads exactly `tag`, with its quiet zone.

    Raises ValueError for a tag with other than ASCII characters: readers differ over what those mean.
    """
    if not tag.isascii():
        raise ValueError(
            f"{tag} has letters that readers of Data Matrix differ over: print its label with a QR code."
        )
    rows = DataMatrix(tag, codecs=["ascii"]).matrix
    side = len(rows) + 2 * QUIET_MODULES
    runs = []
    for y, row in enumerate(rows, start=QUIET_MODULES):
        x = 0
        while x < len(row):
            wide = 0
            while x + wide < len(row) and row[x + wide]:
                wide += 1
            if wide:
                runs.append(f"M{x + QUIET_MODULES} {y}h{wide}v1h-{wide}z")
            x += wide or 1
    return QrSvg(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}">'
        f'<path d="{"".join(runs)}" fill="#000"/></svg>'
    )
