"""Photos and certificates: attach them, list them, and hand them out to whoever may see the item."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header, url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.actions.attach import attach
from inspections.files import bytes_of, fault_of
from inspections.forms.files import AttachForm
from inspections.models import Attachment, Inspection, QuarantineCase
from inspections.photos import is_photo, shown_photos
from inspections.views.photos import with_all
from kit.models import Item
from kit.ports import Panel
from kit.stores import NotAllowed, acting
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, must
from kit.views.some import some_of

MOST_PHOTOS = 8


@at_desk()
def attach_file(request: HttpRequest, tag: str) -> HttpResponse:
    """Attach what was sent to the item, or to the record or case named in the form; refusals stay on a page."""
    item = item_in_sight(request, tag)
    must(request, "attach", item.depot)
    sent = request.method == "POST"
    form = AttachForm(request.POST, request.FILES) if sent else AttachForm(initial=request.GET.dict())
    if sent and form.is_valid():
        asked = form.cleaned_data
        inspection = _of(Inspection, asked["inspection"], item)
        case = _of(QuarantineCase, asked["case"], item)
        try:
            with acting(request.desk.who("item screen")) as act:
                for one in form.chosen:
                    attach(
                        act,
                        item,
                        one.name,
                        one.read(),
                        inspection=inspection,
                        case=case,
                        note=asked["note"],
                    )
        except NotAllowed as refusal:
            form.add_error("file", str(refusal))
        else:
            messages.success(request, _("The file is attached to %(tag)s.") % {"tag": item.tag})
            return redirect(_back(request, item, asked["next"]))
    return render(request, "files/page.html", {"item": item, "form": form})


def _of(model: Any, number: int | None, item: Item) -> Any:
    """The record or case of that number of the item; None if none is named."""
    if number is None:
        return None
    found = model.objects.filter(pk=number, item=item).first()
    if found is None:
        raise Http404(f"{item.tag} has no {model._meta.verbose_name} {number}")
    return found


def _back(request: HttpRequest, item: Item, to: str) -> str:
    if url_has_allowed_host_and_scheme(to, {request.get_host()}, require_https=request.is_secure()):
        return to
    return reverse("item", args=[item.tag]) + "#files"


@require_safe
@at_desk()
def download(request: HttpRequest, number: int) -> HttpResponse:
    """The bytes, as a file to keep: a browser never runs or shows them as a page. Altered bytes are not handed out."""
    attachment = Attachment.objects.select_related("item").filter(pk=number).first()
    if attachment is None:
        raise Http404(f"no file {number}")
    item = item_in_sight(request, attachment.item.tag)
    content = bytes_of(attachment)
    fault = fault_of(attachment, content)
    if fault or content is None:
        messages.error(
            request, _("%(fault)s. It is not handed out; tell the compliance lead.") % {"fault": fault}
        )
        return redirect("item", item.tag)
    response = HttpResponse(content, content_type=attachment.content_type)
    response["Content-Disposition"] = content_disposition_header(True, attachment.name)
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response


def files_of(request: HttpRequest, item: Item, **about: Any) -> dict[str, Any]:
    """What `files/list.html` needs: the files of an item, or with `inspection` or `case` those of one of them.

    Photos stand apart, as many as a page over a poor signal can carry; ?files=all shows all of them.
    """
    rows = list(with_all(Attachment.objects.filter(item=item, **about)))
    photos = some_of(request, "files", [row for row in rows if is_photo(row)], MOST_PHOTOS)
    keys = {name: getattr(row, "pk", row) for name, row in about.items()}
    return {
        "item": item,
        "photos": shown_photos(photos.shown),
        "photos_in_all": photos.number,
        "photos_left_out": photos.left_out,
        "files": [row for row in rows if not is_photo(row)],
        "may_attach": request.desk.may("attach", item.depot),
        "attach_form": AttachForm(
            initial={**keys, "next": request.get_full_path()}, auto_id="id_attach_%s", label_suffix=""
        ),
    }


def item_files(request: HttpRequest, item: Item) -> Panel:
    """All files of an item, whatever they are attached to."""
    return Panel("files/panel.html", files_of(request, item))
