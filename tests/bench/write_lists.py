"""How long a list of the register takes to be written out: `python -m tests.bench.write_lists`.

Each format is given as a ratio to a bare writer of the same values in the same run: the csv module for .csv, openpyxl's
own write-only mode for .xlsx and, as nothing smaller writes .ods, that same openpyxl for .ods. On both engines, if
PostgreSQL answers. The memory is what Python's own allocations came to at most while writing, for a twentieth of the
rows and for half of them: a writer that keeps its rows would take ten times as much. FETTLEBOOK_ITEMS says how many
there are. 500 pieces given a place, shown and then done, stand beside the same acts made one by one.
"""

from __future__ import annotations

import csv
import io
import os
import sys
import tempfile
import tracemalloc
from functools import partial
from itertools import islice
from typing import Any

from tests.bench.engines import on_each_engine
from tests.bench.load_register import say, timed

ITEMS = int(os.environ.get("FETTLEBOOK_ITEMS", "100000"))
MANY = 500
COLUMNS = "tag,kind,now,serial,batch,bore,mark,use_by,place,depot,maker,fit_until"


def bare_csv(values: list[list[object]]) -> None:
    with tempfile.TemporaryFile("w+", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(values)


def bare_openpyxl(values: list[list[object]]) -> None:
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Bare")
    for row in values:
        sheet.append(row)
    book.save(io.BytesIO())


def fill() -> None:
    """Rows behind the stores' back: what is measured is reading and writing out."""
    from django.utils import timezone

    from kit.models import Item
    from kit.stores import Who, acting, found_register
    from tests.bench import readiness

    readiness.ITEMS = ITEMS
    with acting(Who("bench", "bench")) as act:
        found_register(act)
    rows = readiness.items(timezone.localdate())
    while batch := list(islice(rows, 5_000)):
        for item in batch:
            item.serial, item.maker = f"S-{item.tag}", "Anvil & Sons"
        Item.objects.bulk_create(batch)


def listed(most: int) -> Any:
    from django.http import QueryDict
    from django.utils import timezone

    from kit.models import Item
    from kit.tables.items import ItemTable
    from kit.views.listing import Listed, arranged

    items = Item.objects.select_related("kind", "depot", "place", "transit_to").filter(tag__lt=f"I{most:06}")
    table = arranged(ItemTable, items, QueryDict(f"columns={COLUMNS}&sort=-tag"), today=timezone.localdate())
    return Listed(table, [])


def write(kind: str, most: int) -> None:
    from kit.views.list_files import write_list

    seen = listed(most)
    with tempfile.TemporaryFile() as file:
        write_list(file, kind, "Register", seen.columns(), seen.rows(), {})


def peak_mb(kind: str, most: int) -> float:
    tracemalloc.start()
    write(kind, most)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1024**2


def change_many_pieces() -> None:
    from kit.models import Item
    from kit.stores import Who, acting, fresh, place_named, record_details
    from kit.stores.change_many import Change, What, change_many, foresee_change

    who, ids = Who("bench", "bench"), list(Item.objects.order_by("-pk").values_list("pk", flat=True)[:MANY])
    change = Change(What.PLACE, "bench", "Rack 9")

    def one_by_one() -> None:
        for item in Item.objects.filter(pk__in=Item.objects.order_by("pk").values("pk")[:MANY]):
            with acting(who) as act:
                piece = fresh(item)
                record_details(act, piece, {"place": place_named(act, piece.depot, "Rack 8")}, why="bench")

    floor, _ = timed(one_by_one)
    shown, foretold = timed(lambda: foresee_change(who, ids, change, lambda item: ""))
    say(f"{MANY} pieces: what it would do", shown, "the acts one by one", floor)

    def do() -> None:
        with acting(who) as act:
            change_many(act, ids, change, lambda item: "", foretold.mark)

    done, _ = timed(do)
    say(f"{MANY} pieces: done", done, "the acts one by one", floor)


def measure_here() -> None:
    """Measure on the database that DATABASE_URL names, which must be migrated and empty."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    import django

    django.setup()
    from django.db import connection

    fill()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    print(f"{connection.vendor}: {ITEMS:,} items, {COLUMNS.count(',') + 1} columns")
    read, _ = timed(lambda: sum(1 for _row in listed(ITEMS).rows()))
    values = list(listed(ITEMS).rows())
    floors = {"csv": timed(partial(bare_csv, values))[0], "xlsx": timed(partial(bare_openpyxl, values))[0]}
    del values
    print(f"    reading the rows and giving their values alone: {read:.1f} s")
    for kind, floor, what in (
        ("csv", floors["csv"], "bare csv.writer"),
        ("xlsx", floors["xlsx"], "bare openpyxl"),
        ("ods", floors["xlsx"], "bare openpyxl"),
    ):
        seconds, _ = timed(partial(write, kind, ITEMS))
        say(f"register as .{kind}, from the database", seconds, what, floor)
    for kind in ("csv", "xlsx", "ods"):
        small, large = peak_mb(kind, ITEMS // 20), peak_mb(kind, ITEMS // 2)
        print(
            f"    .{kind}: at most {small:.1f} MB for {ITEMS // 20:,} rows, {large:.1f} MB for {ITEMS // 2:,}"
        )
    change_many_pieces()


def main() -> None:
    if len(sys.argv) > 1:
        measure_here()
        return
    on_each_engine("tests.bench.write_lists", "here")


if __name__ == "__main__":
    main()
