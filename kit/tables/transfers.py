"""Consignments as a table, each with how far it has come."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2.utils import A

from kit.models import Arrival, Transfer
from kit.tables.columns import WIDE_ONLY, MarkColumn
from kit.tables.jobs import in_one_line
from kit.tables.marks import Mark


def with_counts(transfers: QuerySet[Transfer]) -> QuerySet[Transfer]:
    """The consignments with how many lines they have, and how many are on the way, arrived, missing."""

    def counted(outcome: Arrival) -> Count:
        return Count("lines", filter=Q(lines__outcome=outcome))

    return transfers.select_related("from_depot", "to_depot").annotate(
        all_lines=Count("lines"),
        on_the_way=counted(Arrival.ON_THE_WAY),
        arrived=counted(Arrival.ARRIVED),
        missing=counted(Arrival.MISSING),
        back=counted(Arrival.BACK),
    )


def how_far(transfer: Any, today: date) -> Mark:
    """Where a consignment with counts stands, in a mark; overdue from the day after the expected one."""
    if transfer.closed:
        if transfer.missing:
            return Mark("lost", word=_("%(n)s missing") % {"n": transfer.missing})
        if transfer.back == transfer.all_lines:
            return Mark("available", word=_("back"))
        return Mark("in-fettle", word=_("signed for"))
    said = ""
    if transfer.on_the_way < transfer.all_lines:
        said = _("%(n)s of %(all)s signed for") % {
            "n": transfer.all_lines - transfer.on_the_way,
            "all": transfer.all_lines,
        }
    if transfer.arrives_on < today:
        days = (today - transfer.arrives_on).days
        late = ngettext("by %(n)s day", "by %(n)s days", days) % {"n": days}
        return Mark("overdue", f"{late}, {said}" if said else late)
    return Mark("in-transit", said)


class TransferTable(tables.Table):
    row_heading = "number"
    caption = gettext_lazy("Consignments")

    number = tables.Column(
        verbose_name=gettext_lazy("Note"),
        linkify=("transfer", {"number": A("number")}),
        attrs={"a": {"class": "code"}},
    )
    from_depot = tables.Column(verbose_name=gettext_lazy("From"), order_by="from_depot__code")
    to_depot = tables.Column(verbose_name=gettext_lazy("To"), order_by="to_depot__code")
    arrives_on = tables.Column(verbose_name=gettext_lazy("Expected"))
    stands = MarkColumn(how_far, verbose_name=gettext_lazy("Stands"), orderable=False)
    all_lines = tables.Column(verbose_name=gettext_lazy("Pieces and lots"), attrs=WIDE_ONLY)
    carrier = tables.Column(verbose_name=gettext_lazy("Carried by"), attrs=WIDE_ONLY, default="")
    sent_by = tables.Column(verbose_name=gettext_lazy("Sent by"), attrs=WIDE_ONLY)

    class Meta:
        empty_text = gettext_lazy("None.")

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)

    def render_number(self, record: Transfer) -> str:
        return str(record)

    def render_arrives_on(self, value: date) -> str:
        return in_one_line(value)
