"""Labels for items named by tag, or for all that is in a place, as a PDF for a sheet or a roll."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from kit.forms.labels import LabelsForm
from kit.models import Deed, Item
from kit.papers.label_stock import STOCKS
from kit.papers.labels import Label, Symbology, labels_pdf
from kit.papers.store_heads import stamp
from kit.papers.wording import day, size_range
from kit.roles import depots_of
from kit.stores import acting
from kit.views.desk import at_desk

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
    stock = STOCKS[form.cleaned_data["stock"]]
    return labels_pdf([label_of(item) for item in items], stock, code, printed, form.cleaned_data["start"])


def label_of(item: Item) -> Label:
    """The label as the register has the item; a use-by date of month precision counts to its last day."""
    return Label(
        item.tag,
        item.kind.name,
        size_range(item.bore_min_mm, item.bore_max_mm),
        item.mark,
        day(item.use_by) if item.use_by else "",
    )
