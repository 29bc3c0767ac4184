"""The work list of the bench as a table with tick boxes."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from inspections.due_list import DueEntry
from inspections.tables.due import check_text, due_mark, job_url
from kit.models import Custody, State
from kit.sentences import said
from kit.tables.columns import MarkColumn


class BenchTable(tables.Table):
    """Rows are DueEntry; `loads` says on which day the job of each loads, by reference."""

    choose_name = "chosen"
    choose_form = "bulk"
    row_heading = "tag"
    caption = gettext_lazy("Checks to be done")

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    check = tables.Column(verbose_name=gettext_lazy("Check"))
    stands = MarkColumn(due_mark, verbose_name=gettext_lazy("How it stands"), accessor="tag")
    job = tables.Column(
        verbose_name=gettext_lazy("Promised to"), linkify=job_url, attrs={"a": {"class": "code"}}, default=""
    )
    loads = tables.Column(verbose_name=gettext_lazy("Loading on"), accessor="job", default="")
    place = tables.Column(verbose_name=gettext_lazy("Where"), empty_values=())
    open = tables.Column(verbose_name="", accessor="pk")

    empty_hint = gettext_lazy(
        "What is overdue, never done or due soon comes here by itself, once pieces are in the "
        "register and their kinds have checks."
    )
    empty_word = "check"

    class Meta:
        empty_text = gettext_lazy("Nothing is due at the bench that matches.")
        orderable = False

    def __init__(
        self, *args: Any, today: date, loads: dict[str, date], urls: dict[str, str], **more: Any
    ) -> None:
        self.today, self.load_days, self.urls = today, loads, urls
        super().__init__(*args, **more)

    def render_check(self, record: DueEntry) -> str:
        return f"{said(record.kind)}: {check_text(record.check)}"

    def render_place(self, record: DueEntry) -> str:
        """Where it is, unless it is set aside, out or under way: that matters more at the bench."""
        if record.state == State.QUARANTINED:
            return _("set aside") + (f", {record.place}" if record.place else "")
        return record.place if record.custody == Custody.STORE else _(Custody(record.custody).label)

    def render_loads(self, value: str) -> str:
        day = self.load_days.get(value)
        return f"{day:%a %-d %b}" if day else ""

    def render_open(self, record: DueEntry) -> str:
        words = _("Record")
        return format_html(
            '<a class="button button--quiet" href="{}">{}<span class="visually-hidden"> {}, {}</span></a>',
            self.urls[record.pk],
            words,
            record.tag,
            check_text(record.check),
        )
