"""One photo on a page of its own: large, with what it shows, who added it and when, and the ways to its neighbours."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.files import bytes_of, fault_of
from inspections.models import Attachment
from inspections.photos import LARGE, SMALL, about_of, alt_of, is_photo, is_upright, shrunk
from kit.days import date_format
from kit.links import item_link, job_link, linked
from kit.views.desk import at_desk
from kit.views.found import item_in_sight

SIZES = {"small": SMALL, "large": LARGE}
KEPT_SECONDS = 24 * 3600


def photo_in_sight(request: HttpRequest, number: int) -> Attachment:
    """The photo of that number if its item is in the person's sight, or 404."""
    photo = with_all(Attachment.objects).filter(pk=number).first()
    if photo is None or not is_photo(photo):
        raise Http404(f"no photo {number}")
    item_in_sight(request, photo.item.tag)
    return photo


def with_all(attachments: Any) -> Any:
    """With the rows that are named beside a photo."""
    return attachments.select_related("item", "inspection__check_done", "case__job")


@require_safe
@at_desk()
def seen(request: HttpRequest, number: int, size: str) -> HttpResponse:
    """The photo made smaller. Altered bytes are not shown, and what cannot be read as a picture is none."""
    photo = photo_in_sight(request, number)
    if size not in SIZES:
        raise Http404(f"no size {size}")
    content = bytes_of(photo)
    if content is None or fault_of(photo, content):
        raise Http404(f"photo {number} is not what was attached")
    made = shrunk(content, SIZES[size])
    if made is None:
        raise Http404(f"photo {number} cannot be drawn")
    answer = HttpResponse(made, content_type="image/webp")
    answer["X-Content-Type-Options"] = "nosniff"
    # What an attachment holds never changes; whoever loses their role has it no longer than a day.
    answer["Cache-Control"] = f"private, max-age={KEPT_SECONDS}"
    return answer


@require_safe
@at_desk()
def photo(request: HttpRequest, number: int) -> HttpResponse:
    shown = photo_in_sight(request, number)
    item, content = shown.item, bytes_of(shown)
    others = list(
        Attachment.objects.filter(item=item, content_type__startswith="image/").values_list("pk", flat=True)
    )
    place = others.index(shown.pk)
    return render(
        request,
        "files/photo.html",
        {
            "photo": shown,
            "item": item,
            "alt": alt_of(shown),
            "facts": _facts(shown),
            "fault": fault_of(shown, content),
            "upright": content is not None and is_upright(content),
            # Newest first, as the list of them has it.
            "newer": others[place - 1] if place else None,
            "older": others[place + 1] if place + 1 < len(others) else None,
            "place": place + 1,
            "number": len(others),
        },
    )


def _facts(shown: Attachment) -> list[tuple[Any, Any]]:
    """Who, when, of what; each leads to what it is of."""
    rows: list[tuple[Any, Any]] = [
        (_("What it shows"), shown.note or _("not recorded")),
        (_("Piece"), item_link(shown.item)),
    ]
    if shown.inspection is not None:
        rows.append((_("Record"), linked(reverse("inspection", args=[shown.inspection_id]), about_of(shown))))
    if shown.case is not None:
        rows.append((_("Case"), linked(reverse("case", args=[shown.case_id]), shown.case_id, code=True)))
        if shown.case.job is not None:
            rows.append((_("Job"), job_link(shown.case.job)))
    return [
        *rows,
        (_("Added by"), shown.added_by),
        (_("Added at"), date_format(timezone.localtime(shown.added_at), "j M Y H:i")),
        (_("File"), shown.name),
        ("SHA-256", shown.sha256),
    ]
