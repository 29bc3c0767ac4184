"""The register as a table."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import F, QuerySet
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from kit.models import Item
from kit.tables.columns import NUMBER, WIDE_ONLY, MarkColumn
from kit.tables.marks import conceded_item, mark_of, short_day


def bore_text(item: Item) -> str:
    """The bore range in mm, as short as it is exact: 150 to 200."""
    if item.bore_min_mm is None or item.bore_max_mm is None:
        return ""
    low, high = (
        number_format(bore.normalize(), use_l10n=True) for bore in (item.bore_min_mm, item.bore_max_mm)
    )
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


class ItemTable(tables.Table):
    row_heading = "tag"
    caption = gettext_lazy("Items")

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    kind = tables.Column(verbose_name=gettext_lazy("Kind"), accessor="kind__name")
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

    def order_bore(self, items: QuerySet[Item], is_descending: bool) -> tuple[QuerySet[Item], bool]:
        by = (
            F("bore_min_mm").desc(nulls_last=True) if is_descending else F("bore_min_mm").asc(nulls_last=True)
        )
        return items.order_by(by, "bore_max_mm", "tag"), True

    def render_bore(self, record: Item) -> str:
        return bore_text(record)

    def render_use_by(self, record: Item) -> str:
        return use_by_text(record)
