"""How long the living plan takes on a busy depot: `python -m tests.bench.living_plan`.

2,000 items, 200 jobs over 12 weeks at one depot, reserved by the real action; then the plan board of four weeks, the
list of what breaks after ten pieces failed, what a move would bring, and the soonest day on which a job is whole. The
floor is the move itself: a foretelling cannot take less, because it makes the move and takes it back.
FETTLEBOOK_ITEMS and FETTLEBOOK_JOBS set the size.
"""

from __future__ import annotations

import os
import sys
from datetime import date, timedelta
from decimal import Decimal
from itertools import islice
from random import Random
from typing import Any

from tests.bench.engines import on_each_engine
from tests.bench.load_register import say, timed

ITEMS = int(os.environ.get("FETTLEBOOK_ITEMS", "2000"))
JOBS = int(os.environ.get("FETTLEBOOK_JOBS", "200"))
WEEKS = 12


def fill(today: date) -> None:
    """Items of the kinds that the arrangement asks for, and jobs that reserve them one after the other."""
    from kit.models import Arrangement, Depot, Item, Job
    from kit.planning import NO_LIMIT
    from kit.stores import Who, acting, found_register, plan_job, reserve, set_kind

    draw = Random(5)
    who = Who("bench", "bench")
    with acting(who) as act:
        found_register(act)
        set_kind(act, "bag", turn_round_days=1)
    depot = Depot.objects.create(code="NY")
    arrangement = Arrangement.objects.filter(current=True).order_by("name")[1]
    lines = list(arrangement.lines.select_related("kind"))
    weights = [line.quantity for line in lines]

    def rows() -> Any:
        for number in range(ITEMS):
            kind = draw.choices(lines, weights)[0].kind
            use_by = None if number % 5 == 0 else today + timedelta(days=draw.randint(10, 400))
            yield Item(
                tag=f"I{number:05}",
                kind=kind,
                counted=kind.counted,
                quantity=60 if kind.counted else 1,
                depot=depot,
                bore_min_mm=150 if kind.has_bore else None,
                bore_max_mm=180 if kind.has_bore else None,
                mark=draw.choice(["M3", "M7"]) if kind.has_mark else "",
                use_by=use_by,
                fit_until=use_by or NO_LIMIT,
            )

    listed = rows()
    while batch := list(islice(listed, 500)):
        Item.objects.bulk_create(batch)
    for number in range(JOBS):
        load = today + timedelta(days=draw.randint(0, 7 * WEEKS))
        job = Job(
            reference=f"J{number:03}",
            depot=depot,
            load_on=load,
            return_on=load + timedelta(days=draw.randint(1, 5)),
            bore_mm=Decimal("159.6"),
            base_mark=draw.choice(["M3", "M7"]),
            crew=f"Crew {number % 6}",
            arrangement=arrangement,
        )
        with acting(who) as act:
            reserve(act, plan_job(act, job))


def measure_here() -> None:
    """Measure on the database that DATABASE_URL names, which must be migrated and empty."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    import django

    django.setup()
    from django.db import connection
    from django.utils import timezone

    from kit.models import Depot, Item, Job, Reservation, Standing
    from kit.papers.plan_board import plan_board_pdf
    from kit.papers.store_plan import plan_board_of
    from kit.stores import Who, acting, change_job, quarantine
    from kit.stores.breaks import breaks_of
    from kit.stores.foresee import foresee_move, rehearse
    from kit.stores.move import soonest_whole
    from kit.stores.plan_board import board_of, monday_of
    from kit.views.plan_cells import rows_of

    today = timezone.localdate()
    seconds, _ = timed(lambda: fill(today))
    promises = Reservation.objects.filter(standing=Standing.PROMISED).count()
    print(
        f"{connection.vendor}: {ITEMS:,} items, {JOBS} jobs, {promises:,} promises, made in {seconds:.0f} s"
    )
    depot, who = Depot.objects.get(), Who("bench", "bench")
    seconds, board = timed(lambda: board_of(depot, monday_of(today), 4, today), 3)
    say(f"plan board of four weeks: {len(board.bars)} jobs, {len(board.scarce)} kinds scarce", seconds)
    seconds, _ = timed(lambda: rows_of(board), 3)
    say("its rows and cells", seconds)
    seconds, pdf = timed(lambda: plan_board_pdf(plan_board_of(depot, monday_of(today), 4, today)), 3)
    say(f"the same on paper, {len(pdf) // 1000} kB", seconds)
    held = Reservation.objects.filter(standing=Standing.PROMISED, counted=False).order_by("starts")
    tags = list(dict.fromkeys(held.values_list("item__tag", flat=True)))[:10]
    for item in Item.objects.select_related("kind", "depot").filter(tag__in=tags):
        with acting(who) as act:
            quarantine(act, item, "torn")
    seconds, found = timed(lambda: breaks_of(depot, today), 3)
    say(f"what breaks, of {sum(len(each.pieces) for each in found)} pieces in {len(found)} entries", seconds)
    jobs = list(Job.objects.select_related("depot", "arrangement").order_by("load_on"))
    job = jobs[len(jobs) // 2]
    later = job.load_on + timedelta(days=3), job.return_on + timedelta(days=3)

    def move() -> bool:
        def do(act: Any) -> bool:
            fresh = Job.objects.select_related("depot", "arrangement").get(pk=job.pk)
            return change_job(act, fresh, load_on=later[0], return_on=later[1])

        return rehearse(who, do)

    floor, _ = timed(move, 3)
    seconds, foretold = timed(lambda: foresee_move(who, job, *later), 3)
    say(f"what a move would bring: {len(foretold.breaks)} break", seconds, "the move itself", floor)
    short = next((each.job for each in found if each.what in ("broken", "short")), job)
    seconds, best = timed(lambda: soonest_whole(who, short, today))
    say(f"soonest day on which {short} is whole: {best.load_on if best else 'none'}", seconds)


def main() -> None:
    if len(sys.argv) > 1:
        measure_here()
        return
    on_each_engine("tests.bench.living_plan", "here")


if __name__ == "__main__":
    main()
