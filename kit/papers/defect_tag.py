"""The defect tag: tied to a piece that is set aside, to say what it is, why, who, when and what was found."""

from __future__ import annotations

from django.utils.translation import gettext as _

from kit.papers.printable import printable
from kit.papers.said import word
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
        "kind": printable(word(tag.kind), ONE_LINE),
        "serial": printable(tag.serial, ONE_LINE),
        "maker": printable(tag.maker, ONE_LINE),
        "why": word(tag.why),
        "found": word(tag.found) or _("nothing recorded"),
        "facts": [
            [_("By"), printable(tag.set_aside_by, ONE_LINE)],
            [_("When"), moment(tag.set_aside_at)],
            [_("Job"), printable(tag.job, ONE_LINE)],
            [_("Case"), printable(word(tag.case), ONE_LINE)],
            [_("Depot"), printable(tag.depot, ONE_LINE)],
            [_("Place"), printable(tag.place, ONE_LINE)],
        ],
    }
    return typeset("defect_tag", _("Defect tag %(tag)s") % {"tag": tag.tag}, tag.stamp, data)
