"""The register as a table."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Any

import django_tables2 as tables
from django.db.models import F, QuerySet
from django.utils.formats import number_format
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _
from django_tables2.utils import A

from kit.models import Item
from kit.planning import NO_LIMIT
from kit.sentences import said
from kit.tables.columns import NUMBER, WIDE_ONLY, MarkColumn, NameColumn, ReasonColumn, Written
from kit.tables.marks import conceded_item, in_words, mark_of, short_day
from kit.tables.reasons_said import reason_said


def bore_text(item: Item) -> str:
    """The bore range in mm, as short as it is exact: 150 to 200."""
    if item.bore_min_mm is None or item.bore_max_mm is None:
        return ""
    return _range_text(item.bore_min_mm, item.bore_max_mm, get_language())


@lru_cache(maxsize=1024)
def _range_text(least: Decimal, most: Decimal, _language: str | None) -> str:
    low, high = (number_format(bore.normalize(), use_l10n=True) for bore in (least, most))
    # Unbroken: a range on two lines of a narrow column reads as two bores.
    text = low if low == high else _("%(low)s to %(high)s") % {"low": low, "high": high}
    return text.replace(" ", "\u00a0")


def use_by_text(item: Item) -> str:
    """The use-by date, and how it is printed where that says more or less than a day."""
    if item.use_by is None:
        return ""
    if item.use_by_precision == "day" or not item.use_by_text:
        return short_day(item.use_by)
    return _("%(day)s (printed %(printed)s)") % {"day": short_day(item.use_by), "printed": item.use_by_text}


def fit_until_text(item: Item) -> str:
    if item.fit_until is None:
        return _("not fit")
    return _("no limit") if item.fit_until == NO_LIMIT else short_day(item.fit_until)


def _fit_until(item: Item, _today: date) -> object:
    return item.fit_until if item.limited else fit_until_text(item)


class ItemTable(tables.Table):
    row_heading = "tag"
    caption = gettext_lazy("Items")
    choose_name = "chosen"
    choose_form = "bulk"
    at_first_hidden = ("maker", "made_on", "quantity", "where", "fit_until", "decides", "note")
    written = {
        "tag": Written(lambda item, _day: item.tag, width=18),
        "kind": Written(lambda item, _day: said(item.kind.name), width=18),
        "now": Written(lambda item, day: in_words(mark_of(item, day), *conceded_item(item)), width=32),
        "serial": Written(lambda item, _day: item.serial, width=18),
        "batch": Written(lambda item, _day: item.batch, width=16),
        "bore": Written(lambda item, _day: bore_text(item).replace("\u00a0", " "), width=16),
        "mark": Written(lambda item, _day: item.mark, width=12),
        "set_name": Written(lambda item, _day: item.set_name, width=18),
        "use_by": Written(lambda item, _day: item.use_by, "date"),
        "place": Written(lambda item, _day: item.place.name if item.place else "", width=18),
        "depot": Written(lambda item, _day: str(item.depot), width=14),
        "maker": Written(lambda item, _day: item.maker, width=24),
        "made_on": Written(lambda item, _day: item.made_on, "date"),
        "quantity": Written(lambda item, _day: item.quantity if item.counted else None, "integer"),
        "where": Written(lambda item, _day: _(item.get_custody_display()), width=14),
        "fit_until": Written(_fit_until, "date"),
        "decides": Written(lambda item, _day: reason_said(item.fit_reason), width=40),
        "note": Written(lambda item, _day: item.note, width=40),
    }

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    kind = NameColumn(verbose_name=gettext_lazy("Kind"), accessor="kind__name")
    now = MarkColumn(mark_of, besides=conceded_item, verbose_name=gettext_lazy("State"))
    serial = tables.Column(verbose_name=gettext_lazy("Serial"))
    batch = tables.Column(verbose_name=gettext_lazy("Batch"), attrs=WIDE_ONLY)
    bore = tables.Column(verbose_name=gettext_lazy("Bore, mm"), accessor="pk", attrs=NUMBER)
    mark = tables.Column(verbose_name=gettext_lazy("Mark"))
    set_name = tables.Column(verbose_name=gettext_lazy("Set"))
    use_by = tables.Column(verbose_name=gettext_lazy("Use-by"), attrs=WIDE_ONLY)
    place = tables.Column(verbose_name=gettext_lazy("Place"), order_by=("place__walk", "place__name"))
    depot = tables.Column(
        verbose_name=gettext_lazy("Depot"), accessor="depot", order_by="depot__code", attrs=WIDE_ONLY
    )
    maker = tables.Column(verbose_name=gettext_lazy("Maker"))
    made_on = tables.Column(verbose_name=gettext_lazy("Made on"))
    quantity = tables.Column(verbose_name=gettext_lazy("Quantity"), attrs=NUMBER)
    where = tables.Column(verbose_name=gettext_lazy("Where it is"), accessor="custody")
    fit_until = tables.Column(verbose_name=gettext_lazy("Fit until"), empty_values=())
    decides = ReasonColumn(verbose_name=gettext_lazy("What decides it"), accessor="fit_reason")
    note = tables.Column(verbose_name=gettext_lazy("Note"))

    empty_hint = gettext_lazy(
        "Pieces come in one by one by goods in, or all at once by a register workbook. If there are "
        "some, take filters off, or choose all depots."
    )
    empty_word = "tag"

    class Meta:
        empty_text = gettext_lazy("No item of this register matches.")
        order_by = "tag"

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def order_now(self, items: QuerySet[Item], is_descending: bool) -> tuple[QuerySet[Item], bool]:
        # The engines put rows without a date at different ends; here what is not fit at all comes first.
        fit = F("fit_until").desc(nulls_last=True) if is_descending else F("fit_until").asc(nulls_first=True)
        minus = "-" if is_descending else ""
        return items.order_by(f"{minus}state", f"{minus}custody", fit, "tag"), True

    def order_use_by(self, items: QuerySet[Item], is_descending: bool) -> tuple[QuerySet[Item], bool]:
        by = F("use_by").desc(nulls_last=True) if is_descending else F("use_by").asc(nulls_last=True)
        return items.order_by(by, "tag"), True

    def order_fit_until(self, items: QuerySet[Item], is_descending: bool) -> tuple[QuerySet[Item], bool]:
        fit = F("fit_until").desc(nulls_last=True) if is_descending else F("fit_until").asc(nulls_first=True)
        return items.order_by(fit, "tag"), True

    def order_made_on(self, items: QuerySet[Item], is_descending: bool) -> tuple[QuerySet[Item], bool]:
        by = F("made_on").desc(nulls_last=True) if is_descending else F("made_on").asc(nulls_last=True)
        return items.order_by(by, "tag"), True

    def order_bore(self, items: QuerySet[Item], is_descending: bool) -> tuple[QuerySet[Item], bool]:
        by = (
            F("bore_min_mm").desc(nulls_last=True) if is_descending else F("bore_min_mm").asc(nulls_last=True)
        )
        return items.order_by(by, "bore_max_mm", "tag"), True

    def render_bore(self, record: Item) -> str:
        return bore_text(record)

    def render_use_by(self, record: Item) -> str:
        return use_by_text(record)

    def render_fit_until(self, record: Item) -> str:
        return fit_until_text(record)

    def render_decides(self, value: str) -> str:
        return reason_said(value)

    def render_made_on(self, value: date) -> str:
        return short_day(value)

    def render_quantity(self, record: Item) -> str:
        return number_format(record.quantity) if record.counted else ""

    def render_where(self, record: Item) -> str:
        return _(record.get_custody_display())
