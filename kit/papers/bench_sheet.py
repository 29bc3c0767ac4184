"""The bench sheet: what is to be tested, with its limits, and empty boxes to write readings in by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kit.papers.stamp import Stamp, needs_text
from kit.papers.typeset import Plain, qr_svg, typeset


@dataclass(frozen=True, slots=True)
class Box:
    """One reading to write down: what, in which unit, and what it must be as one line. `wide`: a whole line."""

    label: str
    unit: str = ""
    limit: str = ""
    wide: bool = False


@dataclass(frozen=True, slots=True)
class ToTest:
    """One check of one piece. `points`: how many lines of points to give for a calibration."""

    tag: str
    kind: str
    check: str
    due: str
    about: Sequence[str] = ()
    limits: Sequence[str] = ()
    boxes: Sequence[Box] = ()
    points: int = 0

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")
        needs_text(self.check, "name of the check")


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """The list in the order in which it is worked off."""

    title: str
    about: str
    stamp: Stamp
    rows: Sequence[ToTest]
    caution: str = ""


def bench_sheet_pdf(sheet: BenchSheet) -> bytes:
    """The sheet as a tagged PDF (PDF/UA-1). Raises ValueError for an empty list."""
    if not sheet.rows:
        raise ValueError("Nothing is to be tested, so there is no bench sheet.")
    data: dict[str, Plain] = {
        "name": sheet.title,
        "about": sheet.about,
        "caution": sheet.caution,
        "rows": [
            {
                "tag": row.tag,
                "qr": qr_svg(row.tag),
                "kind": row.kind,
                "check": row.check,
                "due": row.due,
                "about": list(row.about),
                "limits": list(row.limits),
                "boxes": [[box.label, box.unit, box.limit, box.wide] for box in row.boxes],
                "points": row.points,
            }
            for row in sheet.rows
        ],
    }
    return typeset("bench_sheet", f"{sheet.title}, {sheet.about}", sheet.stamp, data)
