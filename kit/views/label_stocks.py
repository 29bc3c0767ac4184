"""The stocks that labels are printed on: those shipped, and the depots' own, drawn before they are recorded."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from kit.forms.labels import SHIPPED_NAMES, LabelPaperForm
from kit.label_stock import STOCKS, LabelStock
from kit.models import LabelPaper
from kit.stores import NotAllowed, acting
from kit.stores.label_papers import FIGURES, set_label_paper, stock_of, stock_with, withdraw_label_paper
from kit.views.desk import at_desk, told

SCREEN = "label stocks"
LONGEST_CODE = 40


@at_desk("print labels")
def label_stocks(request: HttpRequest) -> HttpResponse:
    """All of them, each with its picture."""
    own = LabelPaper.objects.filter(withdrawn=False)
    context = {
        "shipped": [(name, drawn(STOCKS[code])) for code, name in SHIPPED_NAMES],
        "own": [(row, drawn(stock_of(row))) for row in own],
        "may_set": request.desk.may("set labels"),
    }
    return render(request, "labels/stocks.html", context)


@at_desk("set labels")
def set_label_stock(request: HttpRequest, code: str = "") -> HttpResponse:
    """The figures; sent once they are drawn, sent again as they were drawn they are recorded."""
    row = get_object_or_404(LabelPaper, code=code, withdrawn=False) if code else None
    sent = request.POST if request.method == "POST" else None
    form = LabelPaperForm(sent, initial=_as_it_is(row))
    picture = None
    if sent is not None and form.is_valid():
        name, figures = form.cleaned_data["name"], form.figures()
        seen = _seen(name, figures)
        try:
            if sent.get("seen") == seen:
                with acting(request.desk.who(SCREEN)) as act:
                    made = set_label_paper(act, row.code if row else _new_code(name), name, figures)
                messages.success(request, _("The label stock %(name)s is recorded.") % {"name": made})
                return redirect("label_stocks")
            picture = drawn(stock_with(name, figures))
        except NotAllowed as refusal:
            form.add_error(None, str(refusal))
        else:
            picture |= {"seen": seen, "before": drawn(stock_of(row)) if row else None}
    status = 422 if form.errors else 200
    return render(
        request, "labels/set_stock.html", {"form": form, "row": row, "picture": picture}, status=status
    )


@require_POST
@at_desk("set labels")
def withdraw_label_stock(request: HttpRequest, code: str) -> HttpResponse:
    row = get_object_or_404(LabelPaper, code=code, withdrawn=False)
    try:
        with acting(request.desk.who(SCREEN)) as act:
            withdraw_label_paper(act, row, request.POST.get("why", ""))
    except NotAllowed as refusal:
        return told(request, refusal, "label_stocks")
    messages.success(request, _("The label stock %(name)s is withdrawn.") % {"name": row})
    return redirect("label_stocks")


def drawn(stock: LabelStock) -> dict[str, Any]:
    """What labels/sheet_picture.html draws: lengths as texts in mm, whatever the language writes for a point."""
    wide, high = stock.label_width_mm, stock.label_height_mm
    # A roll of small labels is drawn with letters as large as its label takes.
    letters = min(wide, high) * 0.35
    return {
        "wide": f"{stock.page_width_mm:g}",
        "high": f"{stock.page_height_mm:g}",
        "label_wide": f"{wide:g}",
        "label_high": f"{high:g}",
        "letters": f"{letters:g}",
        "places": [
            {
                "x": f"{x:g}",
                "y": f"{y:g}",
                "mid_x": f"{x + wide / 2:g}",
                "mid_y": f"{y + high / 2 + letters / 3:g}",
                "n": n,
            }
            for n, (x, y) in enumerate(stock.places(), start=1)
        ],
        "a_page": stock.a_page,
        "said": ngettext(
            "%(n)s label of %(label)s mm on a page of %(page)s mm",
            "%(n)s labels of %(label)s mm on a page of %(page)s mm",
            stock.a_page,
        )
        % {
            "n": stock.a_page,
            "label": f"{wide:g} × {high:g}",
            "page": f"{stock.page_width_mm:g} × {stock.page_height_mm:g}",
        },
    }


def _as_it_is(row: LabelPaper | None) -> dict[str, Any]:
    if row is None:
        return {
            "page_width_mm": 210,
            "page_height_mm": 297,
            "columns": 1,
            "rows": 1,
            "pitch_x_mm": 0,
            "pitch_y_mm": 0,
        }
    lengths = {name: getattr(row, name) for name in FIGURES}
    return {"name": row.name} | {
        name: value if name in ("columns", "rows") else value.normalize().__format__("f")
        for name, value in lengths.items()
    }


def _seen(name: str, figures: dict[str, Any]) -> str:
    return "|".join([name, *(f"{float(figures[key]):g}" for key in FIGURES)])


def _new_code(name: str) -> str:
    """A code that no stock ever had, from the name."""
    wanted = slugify(name)[: LONGEST_CODE - 4] or "stock"
    taken = {*STOCKS, *LabelPaper.objects.values_list("code", flat=True)}
    return next(
        code for n in range(1, 10_000) if (code := wanted if n == 1 else f"{wanted}-{n}") not in taken
    )
