"""How a job stands on the plan, as a mark and in a sentence."""

from __future__ import annotations

from django.utils.translation import gettext as _

from kit.days import date_format
from kit.stores.plan_board import Bar
from kit.tables.marks import Mark, short_day


def bar_mark(bar: Bar) -> Mark:
    """The state of a job's kit: a shape and words, never a colour alone."""
    load = bar.load
    if bar.how == "late-back":
        return Mark("overdue", _("back since %(day)s") % {"day": short_day(bar.job.return_on)})
    if bar.how == "not-loaded":
        return Mark("overdue", word=_("not loaded"), more=short_day(bar.job.load_on))
    if bar.how == "out":
        if bar.unfit:
            return Mark("out", _("%(n)s no longer fit") % {"n": bar.unfit})
        return Mark("out")
    if bar.how == "broken":
        return Mark("not-in-fettle", word=_("broken"), more=_("%(n)s to replace") % {"n": load.broken})
    if bar.how == "short":
        if not load.promised + load.gone:
            return Mark("short", word=_("nothing reserved"))
        return Mark("short", _("of %(n)s in %(all)s") % {"n": load.missing, "all": load.needed})
    return Mark("in-fettle", word=_("complete"))


def in_words(bar: Bar) -> str:
    """The bar for somebody who does not see it: "loads Mon 9 Nov, back Fri 13 Nov, short of 2 in 14"."""
    mark = bar_mark(bar)
    usual = {"overdue": _("overdue"), "out": _("out"), "short": _("short")}
    stands = " ".join(part for part in (mark.word or usual.get(mark.state, ""), mark.more) if part)
    told = [
        _("loads %(day)s") % {"day": date_format(bar.job.load_on, "D j M")},
        _("back %(day)s") % {"day": date_format(bar.job.return_on, "D j M")},
        stands,
    ]
    if bar.job.site:
        told.insert(0, bar.job.site)
    return ", ".join(told)
