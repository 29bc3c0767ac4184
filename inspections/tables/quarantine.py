"""What is set aside, the oldest first."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2.utils import A

from kit.models import Item
from kit.tables.columns import WIDE_ONLY
from kit.tables.marks import short_day


class QuarantineTable(tables.Table):
    """`may_release` are the ids of depots at which the reader releases, `me` the reader's name."""

    row_heading = "tag"
    caption = gettext_lazy("Items in quarantine")

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    kind = tables.Column(verbose_name=gettext_lazy("Kind"), accessor="kind__name")
    since = tables.Column(verbose_name=gettext_lazy("Set aside"), accessor="state_since")
    why = tables.Column(verbose_name=gettext_lazy("Why"), accessor="state_why", orderable=False)
    by = tables.Column(verbose_name=gettext_lazy("By"), accessor="state_by")
    place = tables.Column(verbose_name=gettext_lazy("Place"), order_by="place__name", attrs=WIDE_ONLY)
    depot = tables.Column(verbose_name=gettext_lazy("Depot"), order_by="depot__code", attrs=WIDE_ONLY)
    ways = tables.TemplateColumn(
        template_name="quarantine/ways.html",
        verbose_name=gettext_lazy("What next"),
        accessor="pk",
        orderable=False,
    )

    class Meta:
        empty_text = gettext_lazy("Nothing is set aside.")
        order_by = "since"

    def __init__(self, *args: Any, today: date, may_release: Collection[int], me: str, **more: Any) -> None:
        self.today = today
        self.may_release = may_release
        self.me = me
        super().__init__(*args, **more)

    def render_since(self, record: Item) -> str:
        if record.state_since is None:
            return ""
        day = timezone.localdate(record.state_since)
        age = (self.today - day).days
        ago = ngettext("%(n)s day", "%(n)s days", age) % {"n": age} if age else _("today")
        return f"{short_day(day)}, {ago}"
