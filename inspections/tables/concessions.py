"""Concessions as a table."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import django_tables2 as tables
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from inspections.concession_list import ASKED, RUNNING, ListedConcession
from kit.tables.columns import NUMBER, WIDE_ONLY, MarkColumn, NameColumn
from kit.tables.marks import Mark, short_day


def stands_mark(row: ListedConcession, today: date) -> Mark:
    """How it stands, with the days that are left of one that runs."""
    words = {
        ASKED: _("asked for"),
        "lapsed": _("lapsed: the due date moved"),
        "refused": _("refused"),
        "ended": _("ended early"),
        "run out": _("run out"),
    }
    if row.stands == RUNNING:
        left = (row.concession.until - today).days
        return Mark("conceded", _("last day today") if not left else _("%(n)s days left") % {"n": left})
    if row.stands == ASKED:
        return Mark("awaiting", word=words[ASKED])
    return Mark("available", word=words[row.stands])


class ConcessionTable(tables.Table):
    row_heading = "tag"
    caption = gettext_lazy("Concessions")

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"),
        accessor="concession__item__tag",
        linkify=("item", {"tag": A("concession__item__tag")}),
        attrs={"a": {"class": "code"}},
    )
    check = NameColumn(verbose_name=gettext_lazy("Check"), accessor="concession__check_due__name")
    stands = MarkColumn(stands_mark, verbose_name=gettext_lazy("How it stands"), order_by="stands")
    due_on = tables.Column(verbose_name=gettext_lazy("Was due on"), accessor="concession__due_on")
    until = tables.Column(verbose_name=gettext_lazy("Until"), accessor="concession__until")
    reason = tables.Column(
        verbose_name=gettext_lazy("Why"), accessor="concession__reason", orderable=False, attrs=WIDE_ONLY
    )
    by = tables.Column(verbose_name=gettext_lazy("Asked by"), accessor="concession__asked_by")
    at = tables.Column(
        verbose_name=gettext_lazy("Asked on"), accessor="concession__asked_at", attrs=WIDE_ONLY
    )
    times = tables.Column(verbose_name=gettext_lazy("Times granted"), attrs=NUMBER)
    depot = tables.Column(
        verbose_name=gettext_lazy("Depot"), accessor="concession__item__depot__code", attrs=WIDE_ONLY
    )
    open = tables.Column(
        verbose_name=gettext_lazy("What next"),
        accessor="pk",
        orderable=False,
        linkify=("concession", [A("pk")]),
        attrs={"a": {"class": "button button--quiet"}},
    )

    empty_hint = gettext_lazy(
        "One is asked for on the page of a piece, beside the date that is to be extended, and "
        "decided by somebody else."
    )
    empty_word = "concession"

    class Meta:
        empty_text = gettext_lazy("No concession matches.")

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def render_due_on(self, value: date) -> str:
        return short_day(value)

    def render_until(self, value: date) -> str:
        return short_day(value)

    def render_at(self, value: datetime) -> str:
        return short_day(timezone.localdate(value))

    def render_open(self, record: ListedConcession) -> str:
        if record.stands == ASKED:
            return _("Look at it")
        return _("Open it")
