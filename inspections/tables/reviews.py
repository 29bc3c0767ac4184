"""Reviews of what relied on a gauge, by age; and the records of one."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2.utils import A

from inspections.models import Review
from kit.tables.columns import NUMBER, WIDE_ONLY, MarkColumn, NameColumn
from kit.tables.marks import Mark, short_day


def review_mark(review: Any, today: date) -> Mark:
    """How a review stands; `to_decide` is counted by the query."""
    if review.closed_at is not None:
        return Mark("available", word=_("closed"))
    if review.to_decide:
        return Mark("doubt", word=_("open"), more=_("%(n)s to decide") % {"n": review.to_decide})
    return Mark("awaiting", word=_("open"), more=_("all decided, to be closed"))


class ReviewTable(tables.Table):
    row_heading = "gauge"
    caption = gettext_lazy("Reviews of gauges found out of tolerance")

    gauge = tables.Column(
        verbose_name=gettext_lazy("Gauge"),
        accessor="gauge__tag",
        linkify=("review", {"number": A("pk")}),
        attrs={"a": {"class": "code"}},
    )
    stands = MarkColumn(review_mark, verbose_name=gettext_lazy("How it stands"), order_by="to_decide")
    until = tables.Column(verbose_name=gettext_lazy("Found out on"))
    after = tables.Column(verbose_name=gettext_lazy("Last good"), empty_values=())
    opened_at = tables.Column(verbose_name=gettext_lazy("Opened"))
    number = tables.Column(verbose_name=gettext_lazy("Records"), attrs=NUMBER)
    flipped = tables.Column(verbose_name=gettext_lazy("Another verdict"), attrs=NUMBER)
    opened_by = tables.Column(verbose_name=gettext_lazy("Opened by"), attrs=WIDE_ONLY)
    depot = tables.Column(verbose_name=gettext_lazy("Depot"), accessor="gauge__depot__code", attrs=WIDE_ONLY)

    class Meta:
        empty_text = gettext_lazy("No review is open: no gauge in use was found out of tolerance.")
        order_by = "opened_at"

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def render_until(self, value: date) -> str:
        return short_day(value)

    def render_after(self, value: date | None) -> str:
        return short_day(value) if value else _("never")

    def render_opened_at(self, record: Review) -> str:
        day = timezone.localdate(record.opened_at)
        age = (self.today - day).days
        ago = ngettext("%(n)s day", "%(n)s days", age) % {"n": age} if age else _("today")
        return f"{short_day(day)}, {ago}"


class ReviewedTable(tables.Table):
    """`own` and `decides` are ids of depots: whose items the reader sees, and at whose items they decide."""

    row_heading = "tag"
    caption = gettext_lazy("Records under review")

    tag = tables.TemplateColumn(
        template_name="reviews/tag.html",
        verbose_name=gettext_lazy("Tag"),
        accessor="inspection__item__tag",
    )
    check = NameColumn(verbose_name=gettext_lazy("Check"), accessor="inspection__check_done__name")
    done_on = tables.Column(verbose_name=gettext_lazy("Done on"), accessor="inspection__done_on")
    verdict = MarkColumn(
        lambda row, today: Mark(row.inspection.verdict),
        verbose_name=gettext_lazy("Verdict then"),
        order_by="inspection__verdict",
    )
    rejudged = tables.TemplateColumn(
        template_name="reviews/rejudged.html", verbose_name=gettext_lazy("With the error taken off")
    )
    outcome = tables.TemplateColumn(
        template_name="reviews/outcome.html",
        verbose_name=gettext_lazy("What becomes of it"),
        orderable=False,
    )

    def __init__(
        self,
        *args: Any,
        today: date,
        own: frozenset[int],
        decides: frozenset[int],
        closed: bool,
        **more: Any,
    ) -> None:
        self.today, self.own, self.decides, self.closed = today, own, decides, closed
        super().__init__(*args, **more)

    def render_done_on(self, value: date) -> str:
        return short_day(value)

    def order_rejudged(self, queryset: Any, is_descending: bool) -> tuple[Any, bool]:
        return queryset.order_by(*(["-shift", "pk"] if is_descending else ["shift", "pk"])), True
