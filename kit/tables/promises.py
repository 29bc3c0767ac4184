"""To which jobs an item is, was and will be promised."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from kit.links import item_link
from kit.models import Reservation, Standing
from kit.sentences import said
from kit.tables.columns import MarkColumn, NameColumn
from kit.tables.marks import Mark, short_day, standing_of


def _standing(reservation: Reservation, _today: date) -> Mark:
    return standing_of(reservation)


class PromiseTable(tables.Table):
    row_heading = "job"
    caption = gettext_lazy("Promises")

    job = tables.Column(
        verbose_name=gettext_lazy("Job"),
        linkify=("job", [A("job__reference")]),
        attrs={"a": {"class": "code"}},
    )
    line = NameColumn(verbose_name=gettext_lazy("For the line"), accessor="line__name")
    quantity = tables.Column(
        verbose_name=gettext_lazy("Quantity"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )
    starts = tables.Column(verbose_name=gettext_lazy("From"))
    ends = tables.Column(verbose_name=gettext_lazy("To"))
    standing = MarkColumn(_standing, verbose_name=gettext_lazy("How it stands"))
    why = tables.Column(verbose_name=gettext_lazy("Why"), default="")

    class Meta:
        orderable = False
        empty_text = gettext_lazy("It has never been promised to a job.")

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def before_render(self, _request: Any) -> None:
        if not any(row.counted for row in self.data):
            self.columns.hide("quantity")

    def render_starts(self, value: date) -> str:
        return short_day(value)

    def render_ends(self, value: date) -> str:
        return short_day(value)

    def render_why(self, record: Reservation) -> str:
        """Why it ended or no longer holds, and what is proposed in its place."""
        why = str(said(record.why))
        if record.standing != Standing.BROKEN or record.proposed is None:
            return why
        return format_html("{} {} {}", why, _("Proposed in its place:"), item_link(record.proposed))
