"""Kinds of item as a table."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from kit.models import Kind
from kit.tables.columns import NUMBER, NameColumn


class KindTable(tables.Table):
    row_heading = "name"
    caption = gettext_lazy("Kinds of item")

    name = NameColumn(verbose_name=gettext_lazy("Kind"), linkify=("kind", {"number": A("pk")}))
    counted = tables.Column(verbose_name=gettext_lazy("Kept as"))
    matched = tables.Column(verbose_name=gettext_lazy("Has to match"), accessor="pk", orderable=False)
    turn_round_days = tables.Column(verbose_name=gettext_lazy("Turn-round, days"), attrs=NUMBER)
    margin_days = tables.Column(verbose_name=gettext_lazy("Margin, days"), attrs=NUMBER)
    in_use = tables.Column(verbose_name=gettext_lazy("In use"), attrs=NUMBER)

    class Meta:
        empty_text = gettext_lazy("No kind is recorded.")
        order_by = "name"

    def render_counted(self, value: bool) -> str:
        return _("counted lots") if value else _("tagged pieces")

    def render_matched(self, record: Kind) -> str:
        parts = [_("bore") if record.has_bore else "", _("mark") if record.has_mark else ""]
        return ", ".join(part for part in parts if part) or _("nothing")
