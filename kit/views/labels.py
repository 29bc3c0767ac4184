"""Labels for items named by tag, or for all that is in a place, as a PDF for a sheet or a roll."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from kit.forms.labels import LabelsForm
from kit.models import Deed, Item
from kit.papers.labels import Label, Symbology, labels_pdf
from kit.papers.said import on, word
from kit.papers.store_heads import stamp
from kit.papers.wording import size_range
from kit.roles import depots_of
from kit.stores import acting
from kit.views.change_many import chosen_pieces
from kit.views.desk import at_desk
from kit.views.listing import listing_named

MOST = 1000
PDF = "application/pdf"


@at_desk("print labels")
def labels(request: HttpRequest) -> HttpResponse:
    """`?tag=` fills the form in. What is printed is told in the ledger, of each item."""
    depot = request.desk.depot
    if request.method != "POST":
        first = {"tags": "\n".join(request.GET.getlist("tag"))[:20_000], "start": 1}
        return render(request, "labels/page.html", {"form": LabelsForm(initial=first, depot=depot)})
    form = LabelsForm(request.POST, depot=depot)
    if form.is_valid():
        items = _items(request, form)
        if items and not form.errors:
            pdf = _pdf(request, form, items)
            if pdf is not None:
                answer = HttpResponse(pdf, content_type=PDF)
                answer["Content-Disposition"] = 'inline; filename="labels.pdf"'
                answer["Cache-Control"] = "no-store"
                return answer
    return render(request, "labels/page.html", {"form": form}, status=422)


@require_POST
@at_desk("print labels")
def labels_of_chosen(request: HttpRequest, name: str) -> HttpResponse:
    """The form filled in with the pieces that are ticked on a list, or with all of it, in order of their tags."""
    listing = listing_named(request, name)
    pieces = chosen_pieces(request, listing) if listing.item_of is not None else []
    if not pieces:
        messages.error(request, _("No piece is chosen: tick the rows first."))
    elif len(pieces) > MOST:
        messages.error(
            request,
            _("%(n)s pieces are chosen, and at most %(most)s labels are printed at a time: narrow the list.")
            % {"n": len(pieces), "most": MOST},
        )
    else:
        tags = Item.objects.filter(pk__in=pieces).order_by("tag").values_list("tag", flat=True)
        form = LabelsForm(initial={"tags": "\n".join(tags), "start": 1}, depot=request.desk.depot)
        return render(request, "labels/page.html", {"form": form, "chosen": len(pieces)})
    return redirect(f"{listing.url}?{request.GET.urlencode()}")


def _items(request: HttpRequest, form: LabelsForm) -> list[Item]:
    """The items in the order in which they were named, then those of the place; faults go to the form."""
    named = list(
        dict.fromkeys(tag for line in form.cleaned_data["tags"].splitlines() if (tag := line.strip()))
    )
    if len(named) > MOST:
        form.add_error(
            "tags", _("At most %(n)s labels are printed at a time: print them in parts.") % {"n": MOST}
        )
        return []
    own = depots_of(request.user, "print labels")
    seen = Item.objects.filter(depot__in=own).select_related("kind")
    by_tag = {item.tag: item for item in seen.filter(tag__in=named)}
    unknown = [tag for tag in named if tag not in by_tag]
    if unknown:
        form.add_error(
            "tags",
            _("No item of your depots has this tag: %(tags)s. Mend or remove it.")
            % {"tags": ", ".join(unknown[:10])},
        )
        return []
    items = [by_tag[tag] for tag in named]
    if place := form.cleaned_data["place"]:
        lying = [
            item for item in seen.filter(place=place).order_by("tag")[: MOST + 1] if item.tag not in by_tag
        ]
        if not lying and not items:
            form.add_error("place", _("Nothing lies in %(place)s: choose another.") % {"place": place})
        items += lying
    if len(items) > MOST:
        form.add_error(
            "place", _("At most %(n)s labels are printed at a time: print them in parts.") % {"n": MOST}
        )
    return items


def _pdf(request: HttpRequest, form: LabelsForm, items: list[Item]) -> bytes | None:
    code = Symbology(form.cleaned_data["code"])
    unwritable = [item.tag for item in items if not item.tag.isascii()]
    if code is Symbology.DATA_MATRIX and unwritable:
        form.add_error(
            "code",
            _("%(tags)s has letters that readers of Data Matrix differ over: print it with a QR code.")
            % {"tags": ", ".join(unwritable[:10])},
        )
        return None
    with acting(request.desk.who("labels")) as act:
        act.tell(
            Deed.PRINTED, items, note="label", facts={"paper": "label", "stock": form.cleaned_data["stock"]}
        )
        act.flush()
        printed = stamp(1)
    # Set outside the transaction: others need not wait for the typesetter.
    stock = form.stocks[form.cleaned_data["stock"]]
    listed = [label_of(item) for item in items]
    return labels_pdf(listed, stock, code, printed, form.cleaned_data["start"])


def label_of(item: Item) -> Label:
    """The label as the register has the item; a use-by date of month precision counts to its last day."""
    return Label(
        item.tag,
        word(item.kind.name),
        size_range(item.bore_min_mm, item.bore_max_mm),
        item.mark,
        on(item.use_by),
    )
