"""The defect tag: tied to a piece that is set aside, to say what it is, why, who, when and what was found."""

from __future__ import annotations

from kit.papers.printable import printable
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.values import DefectTag, TagSheet
from kit.papers.wording import moment

# An A6 page has room for one line of these; the tag itself, why and what was found have more.
ONE_LINE = 32


def defect_tag_pdf(tag: DefectTag, sheet: TagSheet = TagSheet.A6) -> bytes:
    """The tag as a tagged PDF (PDF/UA-1): a page of A6 landscape, or A5 landscape on A4 with cut marks."""
    data: dict[str, Plain] = {
        "sheet": sheet.value,
        "tag": tag.tag,
        "qr": qr_svg(tag.tag),
        "kind": printable(tag.kind, ONE_LINE),
        "serial": printable(tag.serial, ONE_LINE),
        "maker": printable(tag.maker, ONE_LINE),
        "why": tag.why,
        "found": tag.found or "nothing recorded",
        "facts": [
            ["By", printable(tag.set_aside_by, ONE_LINE)],
            ["When", moment(tag.set_aside_at)],
            ["Job", printable(tag.job, ONE_LINE)],
            ["Case", printable(tag.case, ONE_LINE)],
            ["Depot", printable(tag.depot, ONE_LINE)],
            ["Place", printable(tag.place, ONE_LINE)],
        ],
    }
    return typeset("defect_tag", f"Defect tag {tag.tag}", tag.stamp, data)
