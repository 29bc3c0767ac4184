"""Quarantine cases, the oldest first."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django_tables2.utils import A

from inspections.case_list import age_days, band_of
from inspections.models import QuarantineCase
from kit.sentences import said
from kit.tables.columns import WIDE_ONLY, MarkColumn, NameColumn, Written
from kit.tables.marks import Mark, in_words, short_day

MARKS = {"": "set-aside", "released": "available", "withdrawn": "withdrawn", "lost": "lost"}


def case_mark(case: QuarantineCase, _today: date | None = None) -> Mark:
    """How the case stands: open, or what was decided and when."""
    if case.is_open or case.decided_at is None:
        return Mark(MARKS[""], word=_("open"))
    day = short_day(timezone.localdate(case.decided_at))
    words = {"released": _("released"), "withdrawn": _("withdrawn"), "lost": _("lost")}
    return Mark(MARKS[case.decision], day, words[case.decision])


def looked_text(case: Any) -> str:
    """What of a case's companions was looked at (see inspections.case_list.cases_at)."""
    if not case.used_with:
        return _("nothing")
    if not case.unlooked:
        return ngettext("%(n)s piece, looked at", "%(n)s pieces, all looked at", case.used_with) % {
            "n": case.used_with
        }
    return _("%(n)s of %(m)s not looked at") % {"n": case.unlooked, "m": case.used_with}


class QuarantineTable(tables.Table):
    """`may_release` are the ids of depots at which the reader releases, `me` the reader's name."""

    row_heading = "tag"
    caption = gettext_lazy("Quarantine cases")
    # What is pressed in the last column is not written out.
    written = {
        "case": Written(lambda case, _day: case.pk, "integer", 8),
        "tag": Written(lambda case, _day: case.item.tag, width=18),
        "kind": Written(lambda case, _day: said(case.item.kind.name), width=18),
        "stands": Written(lambda case, day: in_words(case_mark(case, day)), width=24),
        "since": Written(lambda case, _day: timezone.localtime(case.opened_at), "date", 17),
        "why": Written(lambda case, _day: said(case.why), width=48),
        "by": Written(lambda case, _day: case.opened_by, width=16),
        "job": Written(lambda case, _day: case.job.reference if case.job else "", width=18),
        "unlooked": Written(lambda case, _day: looked_text(case), width=22),
        "place": Written(lambda case, _day: case.item.place.name if case.item.place else "", width=18),
        "depot": Written(lambda case, _day: case.item.depot.code, width=14),
    }

    case = tables.Column(
        verbose_name=gettext_lazy("Case"),
        accessor="pk",
        linkify=lambda record: reverse("case", args=[record.pk]),
        attrs={"a": {"class": "code"}},
    )
    tag = tables.Column(
        verbose_name=gettext_lazy("Tag"),
        accessor="item__tag",
        linkify=("item", {"tag": A("item__tag")}),
        attrs={"a": {"class": "code"}},
    )
    kind = NameColumn(verbose_name=gettext_lazy("Kind"), accessor="item__kind__name")
    stands = MarkColumn(
        case_mark, verbose_name=gettext_lazy("How it stands"), order_by=("decision", "decided_at")
    )
    since = tables.Column(verbose_name=gettext_lazy("Set aside"), accessor="opened_at")
    why = NameColumn(verbose_name=gettext_lazy("Why"), orderable=False)
    by = tables.Column(verbose_name=gettext_lazy("By"), accessor="opened_by")
    job = tables.Column(
        verbose_name=gettext_lazy("Job"), accessor="job__reference", default="", attrs=WIDE_ONLY
    )
    unlooked = tables.Column(verbose_name=gettext_lazy("Used with it"), order_by="-unlooked")
    place = tables.Column(
        verbose_name=gettext_lazy("Place"), accessor="item__place__name", default="", attrs=WIDE_ONLY
    )
    depot = tables.Column(verbose_name=gettext_lazy("Depot"), accessor="item__depot__code", attrs=WIDE_ONLY)
    ways = tables.TemplateColumn(
        template_name="quarantine/ways.html",
        verbose_name=gettext_lazy("What next"),
        accessor="pk",
        orderable=False,
    )

    empty_hint = gettext_lazy(
        "A case opens by itself when somebody sets a piece aside or a check fails. Whoever set it "
        "aside does not release it."
    )
    empty_word = "quarantine"

    class Meta:
        empty_text = gettext_lazy("No case matches: nothing of this sort is set aside.")
        order_by = "since"

    def __init__(self, *args: Any, today: date, may_release: Collection[int], me: str, **more: Any) -> None:
        self.today = today
        self.may_release = may_release
        self.me = me
        super().__init__(*args, **more)

    def render_since(self, record: QuarantineCase) -> SafeString | str:
        day, age = short_day(timezone.localdate(record.opened_at)), age_days(record, self.today)
        ago = ngettext("%(n)s day", "%(n)s days", age) % {"n": age} if age else _("today")
        if not record.is_open:
            return _("%(day)s, for %(n)s days") % {"day": day, "n": age}
        return format_html('{}, {}<br><span class="quiet small">{}</span>', day, ago, band_of(age).words)

    def render_unlooked(self, record: Any) -> str:
        return looked_text(record)
