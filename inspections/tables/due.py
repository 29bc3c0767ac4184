"""What is due as a table, with tick boxes for choosing."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2.utils import A

from inspections.due_list import USE_BY, DueEntry
from kit.tables.columns import WIDE_ONLY, MarkColumn
from kit.tables.jobs import in_one_line
from kit.tables.marks import Mark


def due_mark(entry: DueEntry, as_of: date) -> Mark:
    """How the entry stands on the day, with how many days it is over or away."""
    if entry.due_on is None:
        return Mark("never")
    days = (as_of - entry.due_on).days
    if days > 0:
        return Mark("overdue", ngettext("by %(n)s day", "by %(n)s days", days) % {"n": days})
    if days == 0:
        return Mark("due-soon", _("today"), _("due"))
    return Mark("due-soon", ngettext("in %(n)s day", "in %(n)s days", -days) % {"n": -days}, _("falls due"))


def state_mark(entry: DueEntry, _as_of: date) -> Mark:
    """Where the item is, if that matters more than that it is available."""
    if entry.state != "available":
        return Mark(entry.state)
    return Mark(entry.custody) if entry.custody != "store" else Mark("available")


def job_url(record: DueEntry) -> str | None:
    return reverse("job", args=[record.job]) if record.job else None


class DueTable(tables.Table):
    choose_name = "chosen"
    choose_form = "bulk"
    row_heading = "tag"
    caption = gettext_lazy("What is due")

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    kind = tables.Column(verbose_name=gettext_lazy("Kind"))
    check = tables.Column(verbose_name=gettext_lazy("Check"))
    stands = MarkColumn(
        due_mark,
        verbose_name=gettext_lazy("How it stands"),
        accessor="tag",
        order_by=("due_on", "tag", "check"),
    )
    due_on = tables.Column(verbose_name=gettext_lazy("Due on"), default=gettext_lazy("at once"))
    last_done = tables.Column(verbose_name=gettext_lazy("Last done"), default=gettext_lazy("never"))
    state = MarkColumn(
        state_mark, verbose_name=gettext_lazy("State"), accessor="tag", order_by=("state", "custody")
    )
    job = tables.Column(
        verbose_name=gettext_lazy("Next job"),
        linkify=job_url,
        attrs={"a": {"class": "code"}},
        default="",
    )
    place = tables.Column(verbose_name=gettext_lazy("Place"), attrs=WIDE_ONLY)
    depot = tables.Column(verbose_name=gettext_lazy("Depot"), attrs=WIDE_ONLY)

    class Meta:
        empty_text = gettext_lazy("Nothing is due that matches.")

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def render_due_on(self, value: date) -> str:
        return in_one_line(value)

    def render_last_done(self, value: date) -> str:
        return in_one_line(value)

    def render_check(self, value: str) -> str:
        return _("use-by date") if value == USE_BY else value
