"""How long 84 days of readiness take over 100,000 items: `python -m tests.bench.readiness`.

Given as a ratio to a bare SQL count of the same rows (items that may load, grouped by depot and kind, and promises that
touch the days), measured beside it in the same process; on both engines, if PostgreSQL answers. FETTLEBOOK_ITEMS says
how many items there are.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from itertools import islice
from typing import Any

from tests.bench.engines import on_each_engine
from tests.bench.load_register import say, timed

ITEMS = int(os.environ.get("FETTLEBOOK_ITEMS", "100000"))
JOBS, DAYS = 200, 84
BORE = Decimal("165.2")
ARRANGEMENT = "two-way, two bags a hole"
SIZES = ((75, 95), (95, 120), (150, 185), (160, 220), (220, 270))

BARE_SQL = """
SELECT i.depot_id, i.kind_id, COUNT(*) FROM kit_item i
WHERE i.state = 'available' AND i.fit_until >= %s AND i.kind_id IN (
    SELECT l.kind_id FROM kit_arrangementline l JOIN kit_arrangement a ON a.id = l.arrangement_id
    WHERE a.name = %s AND a.current) GROUP BY i.depot_id, i.kind_id
"""
BARE_PROMISES = """
SELECT i.kind_id, COUNT(*) FROM kit_reservation r JOIN kit_item i ON i.id = r.item_id
WHERE r.standing IN ('promised', 'issued') AND r.ends >= %s AND r.starts <= %s GROUP BY i.kind_id
"""


def items(today: date) -> Iterator[Any]:
    """Pieces of every kind of the arrangement at three depots, in date for between nothing and two years."""
    from kit.models import Arrangement, Depot, Item
    from kit.planning import NO_LIMIT

    depots = [Depot.objects.get_or_create(code=code)[0] for code in ("NY", "MB", "ST")]
    kinds = [
        line.kind
        for line in Arrangement.objects.get(name=ARRANGEMENT, current=True)
        .lines.select_related("kind")
        .order_by("position")
    ]
    for number in range(ITEMS):
        kind = kinds[number % len(kinds)]
        low, high = SIZES[number // 7 % 5] if kind.has_bore else (None, None)
        yield Item(
            tag=f"I{number:06}",
            kind=kind,
            counted=kind.counted,
            quantity=10 if kind.counted else 1,
            depot=depots[number // 3 % 3],
            bore_min_mm=low,
            bore_max_mm=high,
            mark=("M3", "M5", "M7", "M9")[number // 11 % 4] if kind.has_mark else "",
            fit_until=NO_LIMIT if number % 10 == 0 else today + timedelta(days=number * 7919 % 700 - 30),
        )


def fill(today: date) -> int:
    """Fill the tables behind the stores' back: what is measured is reading. Gives the number of promises."""
    from kit.models import Arrangement, Depot, Item, Job, Reservation
    from kit.stores import Who, acting, found_register

    with acting(Who("bench", "bench")) as act:
        found_register(act)
    rows = items(today)
    while batch := list(islice(rows, 5_000)):
        Item.objects.bulk_create(batch)
    arrangement = Arrangement.objects.get(name=ARRANGEMENT, current=True)
    taken: set[int] = set()
    made = 0
    for number in range(JOBS):
        depot = Depot.objects.order_by("pk")[number % 3]
        load_on = today + timedelta(days=number * 31 % DAYS)
        job = Job.objects.create(
            reference=f"J{number}",
            depot=depot,
            load_on=load_on,
            return_on=load_on + timedelta(days=4),
            bore_mm=BORE,
            arrangement=arrangement,
        )
        promises = []
        for line in arrangement.lines.select_related("kind").order_by("position"):
            fit = Item.objects.filter(
                kind=line.kind, depot=depot, fit_until__gte=job.return_on + timedelta(days=9)
            ).exclude(pk__in=taken)
            for item in fit.order_by("pk")[: 1 if line.kind.counted else line.quantity]:
                taken.add(item.pk)
                promises.append(
                    Reservation(
                        job=job,
                        line=line,
                        item=item,
                        counted=item.counted,
                        starts=load_on,
                        ends=job.return_on + timedelta(days=line.kind.turn_round_days),
                    )
                )
        Reservation.objects.bulk_create(promises)
        made += len(promises)
    return made


def measure_here() -> None:
    """Measure on the database that DATABASE_URL names, which must be migrated and empty."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    import django

    django.setup()
    from django.db import connection
    from django.utils import timezone

    from kit.models import Arrangement, Kind
    from kit.planning.mains import Main
    from kit.planning.readiness_gain import one_more
    from kit.stores.readiness import Question, readiness_of
    from kit.stores.readiness_gains import inspections_in_time

    today = timezone.localdate()
    promises = fill(today)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    print(f"{connection.vendor}: {ITEMS:,} items, {promises:,} promises, {DAYS} days")
    arrangement = Arrangement.objects.get(name=ARRANGEMENT, current=True)

    def bare() -> None:
        with connection.cursor() as cursor:
            cursor.execute(BARE_SQL, [today, ARRANGEMENT])
            cursor.fetchall()
            cursor.execute(BARE_PROMISES, [today, today + timedelta(days=DAYS)])
            cursor.fetchall()

    floor, _ = timed(bare, 5)
    for turning in (False, True):
        if turning:
            Kind.objects.update(turn_round_days=1)
        seconds, known = timed(lambda: readiness_of(arrangement, Main(BORE), today, DAYS), 5)
        days = known.answer()
        counted, _ = timed(lambda: readiness_of(arrangement, Main(BORE), today, DAYS).answer(), 5)
        what = "with turn-round" if turning else "without turn-round"
        say(f"{what}: what there is, from the database", seconds, "bare SQL count", floor)
        say(f"{what}: the whole answer", counted, "bare SQL count", floor)
        seconds = sum(
            timed(partial(gains, *given))[0]
            for gains, given in (
                (one_more, (known, days)),
                (inspections_in_time, (Question(arrangement, Main(BORE), today, DAYS), known, days)),
            )
        )
        say(f"{what}: what would give more, for the screen", seconds, "bare SQL count", floor)
        print(f"    {min(d.stops for d in days)} to {max(d.stops for d in days)} stops a day")


def main() -> None:
    if len(sys.argv) > 1:
        measure_here()
        return
    on_each_engine("tests.bench.readiness", "here")


if __name__ == "__main__":
    main()
