"""One page of every part that screens are made of, in all its states; made-up words, nothing of the register."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Final

import django_tables2 as tables
from django import forms
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kit.views.desk import at_desk

TOKENS: Final = Path(__file__).resolve().parent.parent / "static" / "kit" / "css" / "tokens.css"
SOONEST: Final = date(2026, 11, 16)
ROWS_A_PAGE: Final = 3


@dataclass(frozen=True, slots=True)
class Row:
    tag: str
    kind: str
    bore_mm: int
    until: date
    state: str


class SpecimenTable(tables.Table):
    """Tick boxes, a sorted column, a page after this one."""

    row_heading = "tag"
    caption = gettext_lazy("Pieces")
    choose_name = "chosen"
    choose_form = "bulk"

    tag = tables.Column(verbose_name=gettext_lazy("Tag"))
    kind = tables.Column(verbose_name=gettext_lazy("Kind"))
    bore_mm = tables.Column(
        verbose_name=gettext_lazy("Bore, mm"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )
    until = tables.DateColumn(verbose_name=gettext_lazy("Fit until"))
    state = tables.TemplateColumn(
        "{% include 'components/mark.html' with state=value only %}", verbose_name=gettext_lazy("State")
    )

    class Meta:
        prefix = "specimen-"
        empty_text = gettext_lazy("No piece is set aside.")


class SpecimenForm(forms.Form):
    """A field of each make that screens use."""

    what = forms.CharField(
        label=gettext_lazy("What was found"), help_text=gettext_lazy("One sentence."), max_length=80
    )
    minutes = forms.IntegerField(label=gettext_lazy("Minutes held"), min_value=1)
    found_on = forms.DateField(
        label=gettext_lazy("Found on"), widget=forms.DateInput(attrs={"type": "date"}), required=False
    )
    verdict = forms.ChoiceField(
        label=gettext_lazy("Verdict"),
        choices=[
            ("pass", gettext_lazy("pass")),
            ("fail", gettext_lazy("fail")),
            ("doubt", gettext_lazy("doubt")),
        ],
        widget=forms.RadioSelect,
    )
    place = forms.ChoiceField(
        label=gettext_lazy("Place"), choices=[("A", gettext_lazy("Rack A")), ("B", gettext_lazy("Rack B"))]
    )
    more = forms.CharField(
        label=gettext_lazy("Note"), widget=forms.Textarea(attrs={"rows": 3}), required=False
    )
    told = forms.BooleanField(label=gettext_lazy("The supervisor has been told"))


class SpecimenFilter(forms.Form):
    q = forms.CharField(label=gettext_lazy("Search"), required=False)
    kind = forms.ChoiceField(
        label=gettext_lazy("Kind"), choices=[("", "–"), ("bag", gettext_lazy("bag"))], required=False
    )


@cache
def colours() -> list[str]:
    """Names of the tokens that are a colour, in the order of tokens.css."""
    by_day = TOKENS.read_text(encoding="utf-8").partition("@media")[0]
    return re.findall(r"^\s*--([a-z0-9-]+):\s*#[0-9a-f]{6};", by_day, re.MULTILINE)


@at_desk()
def components(request: HttpRequest) -> HttpResponse:
    """All components in all states."""
    table = SpecimenTable(_rows(), order_by="tag")
    table.paginate(page=1, per_page=ROWS_A_PAGE)
    return render(
        request,
        "components/specimen.html",
        {
            "colours": colours(),
            "table": table,
            "empty_table": SpecimenTable([], prefix="empty-"),
            "form": SpecimenForm(auto_id="as-it-opens-%s"),
            "wrong_form": SpecimenForm({"minutes": "0", "verdict": "good", "place": "A"}, auto_id="wrong-%s"),
            "filter_form": SpecimenFilter({"kind": "bag"}, auto_id="filter-%s"),
            "chosen": [{"text": _("bag"), "url": "?"}],
            "page": Paginator(range(30), 10).page(2),
            "refused": _refused(),
            "photos": _photos(),
            "entries": _entries(),
            "facts": [
                (_("Kind"), _("bag")),
                (_("Bore"), _("150 to 200 mm")),
                (_("Mark"), None),
                (_("Serial"), "88-1204"),
            ],
            "soonest": SOONEST,
            "swings": _swings(),
            "no_swings": {"none": True},
            "ways": [{"url": "#s-swings", "label": _("Counter"), "icon": "counter"}],
        },
    )


def _rows() -> list[Row]:
    states = ["in-fettle", "due-soon", "overdue", "set-aside", "lost"]
    return [
        Row(f"B-{104 + n}", _("bag"), 150 + 10 * n, date(2027, 3, 1 + n), state)
        for n, state in enumerate(states)
    ]


def _refused() -> list[dict[str, object]]:
    return [
        {
            "tag": "B-117",
            "line": _("bags"),
            "url": "#s-refusals",
            "reasons": [
                {
                    "text": _("the hold test falls due before the kit is back"),
                    "date": date(2026, 11, 4),
                    "mend": _("a hold test at the bench before loading"),
                },
                {"text": _("promised to another job")},
            ],
        },
        {"tag": "B-118", "line": _("bags"), "reasons": [{"text": _("bore range 200 to 250 mm")}]},
    ]


def _swings() -> dict[str, object]:
    broken = {"tag": "B-117", "job": "J-2207", "line": _("bags"), "why": _("bore range 200 to 250 mm")}
    return {
        "unfit_out": [broken],
        "breaks": [{**broken, "proposed": "B-104"}],
        "heals": [{"tag": "B-118", "job": "J-2211", "line": _("bags")}],
    }


def _entries() -> list[dict[str, object]]:
    return [
        {
            "at": datetime(2026, 11, 2, 7, 40, tzinfo=UTC),
            "action": _("Issued"),
            "text": _("To J-2207, by the stores."),
            "by": "nell.harrow",
            "mark": "out",
        },
        {
            "at": datetime(2026, 10, 28, 9, 0, tzinfo=UTC),
            "recorded_at": datetime(2026, 10, 30, 16, 5, tzinfo=UTC),
            "late": _("2 days later"),
            "action": _("Hold test"),
            "by": "tobias.wren",
            "mark": "pass",
            "corrects": _("entry 412"),
        },
        {
            "at": datetime(2026, 10, 28, 9, 0, tzinfo=UTC),
            "day_only": True,
            "action": _("Hold test"),
            "text": _("Drop of 12 mbar."),
            "by": "tobias.wren",
            "mark": "doubt",
            "corrected_by": _("entry 431"),
        },
    ]


def _photos() -> list[dict[str, str]]:
    """One with words and one of which nobody has said what it shows; the drawing stands in the page itself."""
    drawn = (
        "data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 4 3'%3E"
        "%3Crect width='4' height='3' fill='%23ddd'/%3E%3Cpath d='M1 2 2 1l1 1' stroke='%23333' stroke-width='.1' "
        "fill='none'/%3E%3C/svg%3E"
    )
    by = _("%(who)s, %(when)s") % {"who": "r.aldous", "when": "2 Nov 2026 09:12"}
    return [
        {
            "url": "#s-photos",
            "src": drawn,
            "alt": _("Cut in the skirt, 40 mm long"),
            "caption": _("Cut in the skirt, 40 mm long"),
            "about": "",
            "by": by,
        },
        {
            "url": "#s-photos",
            "src": drawn,
            "alt": _("Photo of %(about)s, added on %(day)s; nobody has said what it shows")
            % {"about": "B-104", "day": "2 Nov 2026"},
            "caption": "",
            "about": "B-104",
            "by": by,
        },
    ]
