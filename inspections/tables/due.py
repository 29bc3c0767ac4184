"""What is due as a table, with tick boxes for choosing."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2.utils import A

from inspections.due_list import USE_BY, DueEntry
from kit.models import State
from kit.sentences import said
from kit.tables.columns import WIDE_ONLY, MarkColumn, NameColumn, Written
from kit.tables.jobs import in_one_line
from kit.tables.marks import Mark, in_words, short_day


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


def conceded_mark(entry: DueEntry, _as_of: date) -> list[Mark]:
    """From which day it is extended, if it is."""
    if entry.conceded_from is None:
        return []
    return [Mark("conceded", _("from %(day)s") % {"day": short_day(entry.conceded_from)})]


def concession_url(entry: DueEntry) -> str:
    return reverse("ask_concession", args=[entry.tag]) + "?" + urlencode({"check": entry.check})


def check_text(check: str) -> str:
    return _("use-by date") if check == USE_BY else str(said(check))


def job_url(record: DueEntry) -> str | None:
    return reverse("job", args=[record.job]) if record.job else None


class StandsColumn(MarkColumn):
    """How the entry stands, and under it where a concession is asked for, if there can be one and the reader may."""

    template_code = MarkColumn.template_code + (
        '{% if concession_url %}<br>{% include "due/ways.html" %}{% endif %}'
    )

    def get_context_data(self, *, record: DueEntry, table: Any, **more: Any) -> dict[str, Any]:
        context = super().get_context_data(record=record, table=table, **more)
        return {**context, "concession_url": table.concession_of(record)}


class DueTable(tables.Table):
    """`may_ask` are the codes of the depots at which the reader asks for concessions."""

    choose_name = "chosen"
    choose_form = "bulk"
    row_heading = "tag"
    caption = gettext_lazy("What is due")
    written = {
        "tag": Written(lambda entry, _day: entry.tag, width=18),
        "kind": Written(lambda entry, _day: said(entry.kind), width=18),
        "check": Written(lambda entry, _day: check_text(entry.check), width=28),
        "stands": Written(
            lambda entry, day: in_words(due_mark(entry, day), *conceded_mark(entry, day)), width=30
        ),
        "due_on": Written(lambda entry, _day: entry.due_on or _("at once"), "date"),
        "last_done": Written(lambda entry, _day: entry.last_done or _("never"), "date"),
        "state": Written(lambda entry, day: in_words(state_mark(entry, day)), width=16),
        "job": Written(lambda entry, _day: entry.job or "", width=18),
        "place": Written(lambda entry, _day: entry.place, width=20),
        "depot": Written(lambda entry, _day: entry.depot, width=14),
    }

    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"), linkify=("item", {"tag": A("tag")}), attrs={"a": {"class": "code"}}
    )
    kind = NameColumn(verbose_name=gettext_lazy("Kind"))
    check = tables.Column(verbose_name=gettext_lazy("Check"))
    stands = StandsColumn(
        due_mark,
        besides=conceded_mark,
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

    empty_hint = gettext_lazy(
        "Due dates follow from the checks of each kind and from what was done. A kind without "
        "checks is never due: look at kinds and checks."
    )
    empty_word = "check"

    class Meta:
        empty_text = gettext_lazy("Nothing is due that matches.")

    def __init__(self, *args: Any, today: date, may_ask: Collection[str] = (), **more: Any) -> None:
        self.today = today
        self.may_ask = may_ask
        super().__init__(*args, **more)

    def concession_of(self, entry: DueEntry) -> str:
        """Where a concession for the entry is asked for; empty where there can be none."""
        extendable = entry.due_on is not None and entry.check != USE_BY and entry.state == State.AVAILABLE
        return concession_url(entry) if extendable and entry.depot in self.may_ask else ""

    def render_due_on(self, value: date) -> str:
        return in_one_line(value)

    def render_last_done(self, value: date) -> str:
        return in_one_line(value)

    def render_check(self, value: str) -> str:
        return check_text(value)
