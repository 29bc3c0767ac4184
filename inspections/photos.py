"""Photos as pages show them: made smaller from the bytes that were attached, and what is said of them.

Only pixels go out: a picture that is drawn anew carries neither where it was taken nor anything else hidden in the
file. The original stays as it is, under its hash.
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from inspections.models import Attachment
from kit.days import date_format
from kit.sentences import said
from kit.tables.marks import short_day

SMALL, LARGE = 320, 1600
"""The longer side in pixels: as one of several on a page, and by itself."""
MOST_PIXELS = 100_000_000
"""A few bytes may claim a picture of any size. A photo of a phone has 12 to 50 million pixels; common practice."""
QUALITY = {SMALL: 55, LARGE: 78}
TAKEN = ("JPEG", "PNG", "WEBP")
ORIENTATION, FIRST_ON_ITS_SIDE = 0x0112, 5
"""The tag of Exif (from memory) that says how the camera was held; from 5 to 8 it lay on its side."""


def is_photo(attachment: Attachment) -> bool:
    return attachment.content_type.startswith("image/")


def shrunk(content: bytes, longest: int) -> bytes | None:
    """The picture as WebP with a longer side of `longest` pixels at most; None if it is none or claims too many."""
    try:
        with Image.open(io.BytesIO(content), formats=TAKEN) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                return None
            # A JPEG is read at an eighth of its size where that is enough, in a fraction of the time.
            opened.draft("RGB", (longest, longest))
            upright = ImageOps.exif_transpose(opened)
            upright.thumbnail((longest, longest))
            drawn = _without_holes(upright)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    into = io.BytesIO()
    drawn.save(into, "WEBP", quality=QUALITY[longest])
    return into.getvalue()


def is_upright(content: bytes) -> bool:
    """Whether it is higher than wide once it is turned as the camera was held. Reads no more than its head."""
    try:
        with Image.open(io.BytesIO(content), formats=TAKEN) as opened:
            turned = opened.getexif().get(ORIENTATION, 1) >= FIRST_ON_ITS_SIDE
            return (opened.width > opened.height) if turned else (opened.height > opened.width)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return False


def _without_holes(picture: Image.Image) -> Image.Image:
    """On white where it lets the ground through, so that it looks alike by day and in the dark."""
    if not picture.has_transparency_data:
        return picture.convert("RGB")
    ground = Image.new("RGBA", picture.size, "white")
    ground.alpha_composite(picture.convert("RGBA"))
    return ground.convert("RGB")


def alt_of(photo: Attachment) -> str:
    """What stands for the photo where it is not seen: what was said of it, else of what it is and when it came in."""
    if photo.note:
        return photo.note
    return _("Photo of %(about)s, added on %(day)s; nobody has said what it shows") % {
        "about": about_of(photo),
        "day": short_day(timezone.localdate(photo.added_at)),
    }


def about_of(photo: Attachment) -> str:
    """Of what it is: the piece, and the record or case that it belongs to."""
    if photo.inspection is not None:
        return _("%(tag)s, %(check)s of %(day)s") % {
            "tag": photo.item,
            "check": said(photo.inspection.check_done.name),
            "day": short_day(photo.inspection.done_on),
        }
    if photo.case_id:
        return _("%(tag)s, case %(n)s") % {"tag": photo.item, "n": photo.case_id}
    return str(photo.item)


def shown_photos(photos: Iterable[Attachment], tagged: bool = False) -> list[dict[str, Any]]:
    """Photos as components/photos.html takes them; `tagged`: of several pieces, so each says of which it is.

    Their items, records, checks and cases should have been fetched with them.
    """
    return [
        {
            "url": reverse("photo", args=[photo.pk]),
            "src": reverse("photo_seen", args=[photo.pk, "small"]),
            "alt": alt_of(photo),
            "caption": photo.note,
            "about": about_of(photo) if tagged or photo.inspection_id or photo.case_id else "",
            "by": _("%(who)s, %(when)s")
            % {
                "who": photo.added_by,
                "when": date_format(timezone.localtime(photo.added_at), "j M Y H:i"),
            },
        }
        for photo in photos
    ]
