"""The batches of a kind as a table."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from kit.forms.register_filter import IN_USE
from kit.links import linked, register_url
from kit.tables.columns import NUMBER
from kit.tables.marks import short_day


class BatchTable(tables.Table):
    """Rows are dicts: maker, batch, tag (of any piece of it), pieces, in_use, first and last use-by date."""

    row_heading = "batch"
    caption = gettext_lazy("Batches")

    batch = tables.Column(
        verbose_name=gettext_lazy("Batch"),
        linkify=("maker_batch", {"tag": A("tag")}),
        attrs={"a": {"class": "code"}},
    )
    maker = tables.Column(verbose_name=gettext_lazy("Maker"), empty_values=())
    in_use = tables.Column(verbose_name=gettext_lazy("In use"), attrs=NUMBER)
    pieces = tables.Column(verbose_name=gettext_lazy("Ever recorded"), attrs=NUMBER)
    first = tables.Column(verbose_name=gettext_lazy("Use-by"), default="")

    class Meta:
        empty_text = gettext_lazy("No batch is recorded.")
        order_by = ("batch", "maker")

    def __init__(self, *args: Any, kind: str, **more: Any) -> None:
        self.kind = kind
        super().__init__(*args, **more)

    def render_maker(self, value: str) -> str:
        return value or _("not recorded")

    def render_in_use(self, value: int, record: dict[str, Any]) -> object:
        return self._figure(value, record, state=IN_USE[0])

    def render_pieces(self, value: int, record: dict[str, Any]) -> object:
        return self._figure(value, record)

    def _figure(self, value: int, record: dict[str, Any], **more: str) -> object:
        """A count as a link to the register narrowed to what it counts; the register cannot ask for no maker."""
        if not value or not record["maker"]:
            return value
        narrowed = {"kind": self.kind, "maker": record["maker"], "batch": record["batch"], **more}
        return linked(register_url(narrowed), value)

    def render_first(self, record: dict[str, Any]) -> str:
        return range_of_days(record["first"], record["last"])


def range_of_days(first: date | None, last: date | None) -> str:
    """From one day to another, or the one day that both are; empty where none is known."""
    if first is None or last is None:
        return ""
    if first == last:
        return short_day(first)
    return _("%(first)s to %(last)s") % {"first": short_day(first), "last": short_day(last)}
