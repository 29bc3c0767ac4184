"""How long a job page takes with what would make the job whole: `python -m tests.bench.ways_out`.

2,000 items at two depots with a way between them, 200 jobs over 12 weeks, reserved by the real action, checks never
done on some; then the kit lists of the jobs that are short, with the fewest changes and without (the floor).
FETTLEBOOK_ITEMS and FETTLEBOOK_JOBS set the size.
"""

from __future__ import annotations

import os
import sys
from datetime import timedelta

from tests.bench.engines import on_each_engine
from tests.bench.load_register import say, timed

MOST = 12


def measure_here() -> None:
    """Measure on the database that DATABASE_URL names, which must be migrated and empty."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    import django

    django.setup()
    from django.db import connection
    from django.utils import timezone

    from kit.models import Depot, DepotLink, Item, Job, Standing
    from kit.stores import Who, acting, kit_list_of, quarantine
    from kit.stores.refit import refit
    from kit.stores.ways_out import told_kit_list
    from tests.bench import living_plan

    today = timezone.localdate()
    living_plan.fill(today)
    here, there = Depot.objects.get(), Depot.objects.create(code="SY")
    DepotLink.objects.create(from_depot=there, to_depot=here, lead_days=2)
    free = Item.objects.exclude(reservations__standing=Standing.PROMISED)
    pks = list(free.order_by("tag").values_list("pk", flat=True))
    Item.objects.filter(pk__in=pks[::2]).update(depot=there)
    listed = list(Item.objects.filter(pk__in=pks[1::2]).select_related("kind", "depot", "transit_to"))
    with acting(Who("bench", "bench")) as act:
        act.tell("changed", [here], note="the checks are looked at again")
        refit(act, listed)
    held = (
        Item.objects.filter(reservations__standing=Standing.PROMISED, counted=False)
        .distinct()
        .order_by("tag")
    )
    for item in list(held.select_related("kind", "depot"))[:40]:
        with acting(Who("bench", "bench")) as act:
            quarantine(act, item, "torn")
    jobs = [
        job for job in Job.objects.select_related("depot", "arrangement").order_by("load_on", "reference")
    ]
    short = [job for job in jobs if job.load_on > today + timedelta(days=3) and not kit_list_of(job).complete]
    print(f"{connection.vendor}: {living_plan.ITEMS:,} items, {len(jobs)} jobs, {len(short)} short")
    for job in short[:MOST]:
        floor, _ = timed(lambda job=job: kit_list_of(job), 3)
        seconds, told = timed(lambda job=job: told_kit_list(job), 3)
        refusal = told.refusal
        assert refusal is not None
        lines = len(refusal.lines)
        say(
            f"{job}: {lines} lines short, {refusal.whole.count} changes, whole on {refusal.soonest}",
            seconds,
            "the kit list alone",
            floor,
        )


def main() -> None:
    if len(sys.argv) > 1:
        measure_here()
        return
    on_each_engine("tests.bench.ways_out", "here")


if __name__ == "__main__":
    main()
