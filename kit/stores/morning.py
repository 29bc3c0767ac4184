"""What the day itself has broken: a transfer that should have arrived by now, a van that should be back."""

from __future__ import annotations

from datetime import date

from django.db.models import Q, QuerySet
from django.utils import timezone

from kit.models import Custody, Item, LedgerEntry, Reservation, Standing
from kit.stores.act import Act
from kit.stores.rejudge import open_reservations, reasons_against, rejudge


def judge_the_day(act: Act) -> None:
    """Judge again, in the first act of a day, what yesterday held only because a day had not passed.

    A promise may lean on an arrival or on a return that is still to come. Once its day is over and nobody has signed
    for it, nothing else would tell: no date, state or place has moved. What is broken says why as of its day ("falls
    due on", "is overdue since"), so it is judged again as well, and what is proposed in its place with it.
    """
    last = LedgerEntry.objects.order_by("-number").values_list("recorded_at", flat=True).first()
    if last is None or timezone.localdate(last) >= act.today:
        return
    told = open_reservations().filter(Q(standing=Standing.BROKEN) | ~Q(why=""))
    if ids := sorted({*late_items(act.today), *told.values_list("item_id", flat=True)}):
        rejudge(act, ids)


def late_items(today: date) -> list[int]:
    """Items that are promised or proposed, and should have arrived or come back before today."""
    promised = Reservation.objects.filter(standing=Standing.PROMISED).values("item_id")
    proposed = Reservation.objects.filter(standing=Standing.BROKEN, proposed__isnull=False).values(
        "proposed_id"
    )
    wanted = Q(pk__in=promised) | Q(pk__in=proposed)
    arriving = Item.objects.filter(wanted, custody=Custody.IN_TRANSIT, arrives_on__lt=today)
    out = Reservation.objects.filter(standing=Standing.ISSUED, ends__lt=today)
    out = out.filter(Q(item__in=promised) | Q(item__in=proposed))
    return sorted({*arriving.values_list("pk", flat=True), *out.values_list("item_id", flat=True)})


def broken_by_the_day(today: date) -> list[tuple[Reservation, str]]:
    """Promises that no longer hold this morning though nobody has acted yet, each with why. Reads only."""
    late = late_items(today)
    promised: QuerySet[Reservation] = open_reservations().filter(item__in=late, standing=Standing.PROMISED)
    listed = list(promised) if late else []
    against = reasons_against(today, listed)
    return [(row, against[row.pk]) for row in listed if against[row.pk]]
