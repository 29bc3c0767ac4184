"""What inspections put on pages of the store: an item's checks and records, the bench, what is overdue."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.bench_list import bench_list
from inspections.due_list import DueEntry, due_list, summary
from inspections.judging import Interval
from inspections.models import Basis, Check, Due, Inspection
from inspections.models.check import RuleColumns
from kit.models import Custody, Item, Job, Role, State
from kit.ports import Panel, Way
from kit.tables.marks import SOON_DAYS, Mark, short_day
from kit.views.item_facts import check_anchor
from kit.views.some import some_of

BENCH_DAYS = 14
MOST_ON_THE_BENCH = 20
RECORDS_SHOWN = 12


@dataclass(frozen=True)
class CheckLine:
    """One check of an item as its page shows it."""

    check: Check
    due: Due | None
    mark: Mark
    rhythm: str
    record_url: str
    last: Inspection | None = None

    @property
    def anchor(self) -> str:
        return check_anchor(self.check.name)


def duration_in_words(text: str) -> str:
    """An ISO 8601 duration in words: "6 months"."""
    interval = Interval.parse(text)
    parts = [
        ngettext("%(n)s year", "%(n)s years", interval.years) % {"n": interval.years}
        if interval.years
        else "",
        ngettext("%(n)s month", "%(n)s months", interval.months) % {"n": interval.months}
        if interval.months
        else "",
        ngettext("%(n)s week", "%(n)s weeks", interval.weeks) % {"n": interval.weeks}
        if interval.weeks
        else "",
        ngettext("%(n)s day", "%(n)s days", interval.days) % {"n": interval.days} if interval.days else "",
    ]
    return ", ".join(part for part in parts if part)


def interval_in_words(check: RuleColumns) -> str:
    """How often, in words: "every 6 months, on a fixed grid"."""
    every = _("every %(interval)s") % {"interval": duration_in_words(check.interval)}
    if check.basis == Basis.ANCHOR:
        every = _("%(every)s, on a fixed grid") % {"every": every}
    return _("%(every)s, and after use") % {"every": every} if check.after_use else every


def checks_of(item: Item, today: date) -> list[CheckLine]:
    """The checks asked of the item, those that a later day will ask for among them, with when each is due."""
    dues = {due.check_due_id: due for due in Due.objects.filter(item=item)}
    last = _last_records(item)
    return [
        CheckLine(
            check,
            dues.get(check.pk),
            due_mark(dues.get(check.pk), today),
            interval_in_words(check),
            reverse("record", args=[item.tag]) + "?" + urlencode({"check": check.name}),
            last.get(check.pk),
        )
        for check in Check.objects.filter(kind=item.kind_id).order_by("name")
        if check.pk in dues or (not check.retired and check.is_asked_of(item))
    ]


def _last_records(item: Item) -> dict[int, Inspection]:
    """By check the record that decides: the last by day, then by order of recording, of those that count."""
    rows = Inspection.objects.filter(item=item, struck=False, corrections__isnull=True)
    return {
        row.check_done_id: row
        for row in rows.order_by("done_on", "pk").only("pk", "check_done_id", "done_on")
    }


def due_mark(due: Due | None, today: date) -> Mark:
    """How a check stands on this day."""
    if due is None or due.status == "never" or due.due_on is None:
        return Mark("never")
    if due.status == "failed":
        return Mark("doubt" if due.last_verdict == "doubt" else "fail")
    if due.note:
        return Mark("awaiting")
    if due.last_done is None:
        asked_from = short_day(due.due_on + timedelta(days=1))
        return Mark("due-soon", _("from %(day)s") % {"day": asked_from}, _("to be asked for"))
    if due.due_on < today:
        return Mark("overdue", _("since %(day)s") % {"day": short_day(due.due_on)})
    until = _("until %(day)s") % {"day": short_day(due.due_on)}
    return Mark(
        "due-soon" if due.due_on <= today + timedelta(days=SOON_DAYS) else "in-fettle", until, _("in date")
    )


def item_checks(request: HttpRequest, item: Item) -> Panel:
    """Its checks, and the records made under them, newest first."""
    records = (
        Inspection.objects.filter(item=item).select_related("check_done").prefetch_related("corrections")
    )
    records = records.order_by("-done_on", "-id")
    some = some_of(request, "records", records, RECORDS_SHOWN)
    return Panel(
        "record/item_panel.html",
        {
            "item": item,
            "checks": checks_of(item, request.desk.today),
            "records": some.shown,
            "number": some.number,
            "more_records": some.left_out,
            "may_record": _may_record(request, item),
        },
    )


def _may_record(request: HttpRequest, item: Item) -> bool:
    return item.state != State.WITHDRAWN and request.desk.may("inspect", item.depot)


def item_ways(request: HttpRequest, item: Item) -> Iterator[Way]:
    """Ways on from an item's page: to the bench, and out of quarantine."""
    if _may_record(request, item):
        yield Way(reverse("record", args=[item.tag]), _("Record an inspection"), "bench")
    if item.state == State.AVAILABLE and not item.counted and request.desk.may("ask concession", item.depot):
        yield Way(reverse("ask_concession", args=[item.tag]), _("Ask for a concession"), "evidence")
    if item.state in (State.AVAILABLE, State.QUARANTINED) and not item.counted:
        if item.custody == Custody.STORE and request.desk.may("repair", item.depot):
            yield Way(reverse("repair", args=[item.tag]), _("Note a repair"), "settings")
        if request.desk.may("order re-test", item.depot):
            yield Way(reverse("order_retest", args=[item.tag]), _("Ask for a re-test"), "due")
    yield Way(reverse("passport", args=[item.tag]), _("Item passport (PDF)"), "print")
    yield Way(reverse("item_on_a_day", args=[item.tag]), _("What did we know on that day?"), "clock")
    if item.state == State.QUARANTINED and request.desk.may("release", item.depot):
        yield Way(reverse("release", args=[item.tag]), _("Release from quarantine"), "done")


def job_ways(_request: HttpRequest, job: Job) -> Iterator[Way]:
    """Ways on from a job's page: what was known of it and its pieces on a day."""
    if job.reservations.filter(issued_on__isnull=False).exists():
        yield Way(reverse("evidence", args=[job.reference]), _("Evidence sheet (PDF)"), "evidence")
    yield Way(reverse("job_on_a_day", args=[job.reference]), _("What did we know on that day?"), "clock")


def bench(request: HttpRequest) -> Panel | None:
    """For the examiner: what falls due within a fortnight or was never done, the soonest promised first."""
    if Role.EXAMINER not in request.desk.roles:
        return None
    today = request.desk.today
    listed = bench_list(request.desk.depot.pk, today, BENCH_DAYS)
    rows = [(entry, load_on, _entry_mark(entry, today)) for entry, load_on in listed[:MOST_ON_THE_BENCH]]
    return Panel("record/bench_panel.html", {"rows": rows, "count": len(listed), "days": BENCH_DAYS})


def _entry_mark(entry: DueEntry, today: date) -> Mark:
    if entry.due_on is None:
        return Mark("never")
    if entry.due_on < today:
        days = (today - entry.due_on).days
        return Mark("overdue", ngettext("by %(n)s day", "by %(n)s days", days) % {"n": days})
    return Mark("due-soon", short_day(entry.due_on))


def overdue(request: HttpRequest) -> Panel | None:
    """For the compliance lead: how much is overdue or never done, and of which kinds."""
    if Role.COMPLIANCE not in request.desk.roles:
        return None
    today = request.desk.today
    entries = due_list(today, depots=[request.desk.depot.pk])
    counts = dict(summary(entries, today))
    by_kind: dict[str, int] = {}
    for entry in entries:
        by_kind[entry.kind] = by_kind.get(entry.kind, 0) + 1
    return Panel(
        "record/overdue_panel.html",
        {
            "counts": counts,
            "never": counts["never done"],
            "promised": counts["promised to a job"],
            "by_kind": sorted(by_kind.items(), key=lambda pair: (-pair[1], pair[0])),
        },
    )
