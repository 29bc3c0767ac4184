"""The plan board on paper, filled from the register. Reads only."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from kit.models import Depot, Job, LedgerEntry
from kit.papers.plan_board import LackRow, PlanBoard, PlanRow, PlanWeek, short_day
from kit.papers.store_heads import stamp
from kit.stores.plan_board import Bar, Scarce, board_of


def plan_board_of(
    depot: Depot,
    first: date,
    weeks: int,
    today: date,
    crew: str | None = None,
    printed_at: datetime | None = None,
) -> PlanBoard:
    """The weeks from `first` on. The plan's revision is the number of the ledger's last entry: all that moves a plan
    is told there.
    """
    head = LedgerEntry.objects.order_by("-number").values_list("number", flat=True).first() or 0
    return PlanBoard(
        depot=str(depot),
        as_of=today,
        stamp=stamp(head, printed_at or timezone.localtime()),
        weeks=[_week(depot, first + timedelta(days=7 * n), today, crew) for n in range(weeks)],
        crew=crew or "",
    )


def _week(depot: Depot, first: date, today: date, crew: str | None) -> PlanWeek:
    board = board_of(depot, first, 1, today, crew)
    return PlanWeek(
        first,
        [_row(bar, board.days) for bar in board.bars],
        [_lack(scarce, board.days) for scarce in board.scarce],
    )


def _row(bar: Bar, days: tuple[date, ...]) -> PlanRow:
    job = bar.job
    return PlanRow(
        reference=job.reference,
        revision=job.revision,
        crew=job.crew,
        site=job.site,
        load_on=job.load_on,
        return_on=job.return_on,
        days=tuple(bar.on(each) for each in days),
        stands=_stands(bar),
    )


def _stands(bar: Bar) -> str:
    load = bar.load
    if bar.how == "late-back":
        return _("OVERDUE since %(day)s") % {"day": short_day(bar.job.return_on)}
    if bar.how == "not-loaded":
        return _("NOT LOADED on %(day)s") % {"day": short_day(bar.job.load_on)}
    if bar.how == "out":
        return _("out, %(n)s NO LONGER FIT") % {"n": bar.unfit} if bar.unfit else _("out")
    if bar.how == "broken":
        return _("BROKEN, %(n)s to replace") % {"n": load.broken}
    if bar.how == "short":
        return _("SHORT of %(n)s in %(all)s") % {"n": load.missing, "all": load.needed}
    return _("complete")


def _lack(scarce: Scarce, days: tuple[date, ...]) -> LackRow:
    def named(pairs: tuple[tuple[Job, int], ...]) -> str:
        return ", ".join(f"{job.reference} {n}" for job, n in pairs)

    days_short = tuple(scarce.short_on.get(each, 0) for each in days)
    holding = _("have it: %(jobs)s") % {"jobs": named(scarce.holding)} if scarce.holding else ""
    return LackRow(scarce.kind, days_short, named(scarce.lacking), holding)
