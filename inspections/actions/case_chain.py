"""What an item was used together with: a failure may lie in hose, gauge or controller, so the chain is looked at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import F, Q, QuerySet

from inspections.models import Check, Inspection, UseCall, Verdict
from kit.models import Item, Reservation, Standing

BEEN_OUT = (Standing.ISSUED, Standing.RETURNED)


@dataclass(frozen=True, slots=True)
class Companion:
    """An item used together with another: on the same job, or as the gauge of its test (no job then)."""

    item: Item
    outing: Reservation | None


def outing_of(item: Item) -> Reservation | None:
    """The job that the item is out on, or came back from last and has not been passed again since.

    Once every check that a use calls for was passed after the return (every gating check, if no use calls for
    one), what is found later is not that job's doing any more.
    """
    last = (
        item.reservations.filter(standing__in=BEEN_OUT, issued_on__isnull=False)
        .select_related("job")
        .order_by("-issued_on", F("back_on").desc(nulls_first=True), "-pk")
        .first()
    )
    return None if last is None or _passed_since(item, last) else last


def companions_of(item: Item, outing: Reservation | None, today: date) -> list[Companion]:
    """Every piece out on the same job on a day on which the item was, and the gauges of its open failed tests.

    Lots are left out on both sides: nobody can say which of their pieces were in use together.
    """
    found: dict[int, Companion] = {}
    if outing is not None and not item.counted:
        back = outing.back_on or today
        others = Reservation.objects.filter(
            Q(back_on__isnull=True) | Q(back_on__gte=outing.issued_on),
            job_id=outing.job_id,
            counted=False,
            standing__in=BEEN_OUT,
            issued_on__lte=back,
        )
        for row in others.exclude(item=item).select_related("item", "job").order_by("item__tag", "pk"):
            found[row.item_id] = Companion(row.item, row)
    for record in open_fails(item):
        if record.gauge is not None and record.gauge_id not in found:
            found[record.gauge.pk] = Companion(record.gauge, None)
    return list(found.values())


def standing_records(item: Item) -> QuerySet[Inspection]:
    """The records of the item that count: neither struck out nor corrected."""
    return Inspection.objects.filter(item=item, struck=False, corrections__isnull=True)


def open_fails(item: Item) -> list[Inspection]:
    """The latest record of each check whose verdict, as found, is a fail or a doubt, by check."""
    latest: dict[int, Inspection] = {}
    for record in standing_records(item).select_related("gauge").order_by("done_on", "id"):
        latest[record.check_done_id] = record
    return [record for record in latest.values() if record.verdict != Verdict.PASS]


def gating_checks(item: Item) -> list[Check]:
    """The checks in force that keep the item in the store, by name."""
    listed = Check.objects.in_force().filter(kind_id=item.kind_id, gates=True).order_by("name")
    return [check for check in listed if check.is_asked_of(item)]


def _passed_since(item: Item, outing: Reservation) -> bool:
    if outing.standing == Standing.ISSUED or outing.back_on is None:
        return False
    gating = gating_checks(item)
    asked = {check.pk for check in gating if check.after_use} or {check.pk for check in gating}
    if not asked:
        return False
    later = Q(done_on__gt=outing.back_on)
    use = UseCall.objects.filter(item=item, used_on=outing.back_on, job=outing.job.reference).last()
    if use is not None:
        later |= Q(done_on=outing.back_on, id__gt=use.after_record)
    rows = standing_records(item).filter(later, check_done_id__in=asked)
    return asked <= {record.check_done_id for record in rows if record.leaves == Verdict.PASS}
