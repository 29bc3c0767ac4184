"""How long loading, the due list, its export and a kit list take: `python -m tests.bench.load_register`.

Each is given as a ratio to the least that the same work could cost, measured beside it in the same process: loading
to reading the file with python-calamine, the due list to its bare SQL, the export to writing the same cells with
openpyxl. The ratios say something on any machine; the seconds only on a quiet one. Both engines, if PostgreSQL answers.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from tests.bench.engines import on_each_engine
from tests.bench.register_file import INSPECTIONS, ITEMS, write_register

T = TypeVar("T")

WITHIN = 400  # days ahead: nearly every check of every item is then in the list
DUE_SQL = """
SELECT i.tag, k.name, c.name, u.last_done, u.due_on, i.state, d.code, p.name, c.gates
FROM inspections_due u JOIN kit_item i ON i.id = u.item_id JOIN inspections_check c ON c.id = u.check_id
JOIN kit_kind k ON k.id = i.kind_id JOIN kit_depot d ON d.id = i.depot_id
LEFT JOIN kit_place p ON p.id = i.place_id
WHERE (u.due_on <= %s OR u.due_on IS NULL) AND i.state NOT IN ('withdrawn', 'lost')
UNION ALL
SELECT i.tag, k.name, 'use-by', NULL, i.use_by, i.state, d.code, p.name, %s
FROM kit_item i JOIN kit_kind k ON k.id = i.kind_id JOIN kit_depot d ON d.id = i.depot_id
LEFT JOIN kit_place p ON p.id = i.place_id
WHERE i.use_by <= %s AND i.state NOT IN ('withdrawn', 'lost')
ORDER BY 5, 1, 3
"""


def timed(work: Callable[[], T], times: int = 1) -> tuple[float, T]:
    """(seconds of the quickest run, what it gave)"""
    best = float("inf")
    for _ in range(times):
        started = time.perf_counter()
        given = work()
        best = min(best, time.perf_counter() - started)
    return best, given


def say(what: str, seconds: float, against: str = "", bare: float = 0.0) -> None:
    ratio = f"{seconds / bare:8.1f} x {against} ({bare:.3f} s)" if bare else ""
    print(f"  {what:<58} {seconds:8.2f} s {ratio}", flush=True)


def read_bare(path: Path) -> int:
    """Read every cell of the file with python-calamine and do nothing with it."""
    import python_calamine

    rows = 0
    with python_calamine.load_workbook(str(path)) as book:
        for name in book.sheet_names:
            for _ in book.get_sheet_by_name(name).iter_rows():
                rows += 1
    return rows


def write_bare(rows: list[tuple[Any, ...]]) -> bytes:
    """Write these cells with openpyxl, row by row, without a format."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    sheet = book.create_sheet("Due list")
    for row in rows:
        sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def measure_here(path: Path) -> None:
    """Measure on the database that DATABASE_URL names, which must be migrated and empty."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    import django

    django.setup()
    from django.db import connection
    from django.utils import timezone

    from inspections.due_list import due_list
    from inspections.due_workbook import due_workbook
    from kit.models import Job
    from kit.stores import Who, acting, kit_list_of, prove_ledger, reserve
    from kit.workbooks.loading import load_register
    from kit.workbooks.reading import open_register

    who = Who("bench", "bench")
    today = timezone.localdate()
    bare, rows = timed(lambda: read_bare(path), 3)
    print(f"{connection.vendor}: {ITEMS:,} items, {INSPECTIONS:,} inspections, {rows:,} rows in the file")

    def read() -> None:
        for sheet in open_register(path).sheets.values():
            for _ in sheet.rows():
                pass

    say("open the register and look at every row", timed(read)[0], "python-calamine alone", bare)
    seconds, report = timed(lambda: load_register(path, who))
    assert report.loaded, report.faults.text_report()
    say("load it into an empty register", seconds, "python-calamine alone", bare)
    seconds, report = timed(lambda: load_register(path, who))
    assert report.count("unchanged") == len(report.rows)
    say("load it again, nothing changed", seconds, "python-calamine alone", bare)
    seconds, proof = timed(prove_ledger)
    assert proof.fault is None, proof.fault
    say(f"prove the ledger ({proof.entries:,} entries)", seconds)

    last = today + dt.timedelta(days=WITHIN)

    def bare_due() -> list[tuple[Any, ...]]:
        with connection.cursor() as cursor:
            cursor.execute(DUE_SQL, [last, True, last])
            return list(cursor.fetchall())

    bare, found = timed(bare_due, 3)
    seconds, entries = timed(lambda: due_list(today, WITHIN), 3)
    assert len(entries) == len(found)
    say(f"due list, {len(entries):,} entries", seconds, "bare SQL", bare)
    seconds, overdue = timed(lambda: due_list(today), 3)
    say(f"due list, what is overdue: {len(overdue):,} entries", seconds)
    seconds, past = timed(lambda: due_list(today - dt.timedelta(days=30)))
    say(f"due list as of a month ago, from the records: {len(past):,} entries", seconds)

    cells = [
        (
            e.tag,
            e.kind,
            e.check,
            e.last_done,
            e.due_on,
            e.days_over,
            "due",
            e.gates,
            e.state,
            e.custody,
            e.depot,
            e.place,
            e.job,
        )
        for e in entries
    ]
    bare, _ = timed(lambda: write_bare(cells))
    seconds, _ = timed(lambda: due_workbook(entries, today, {}, "bench"))
    say(f"its spreadsheet, {len(cells) * 13:,} cells", seconds, "bare openpyxl", bare)

    job = Job.objects.select_related("depot", "arrangement").get(reference="B-7")
    seconds, kit = timed(lambda: kit_list_of(job), 3)
    say(f"kit list of one job ({sum(len(line.tags) for line in kit.lines)} pieces chosen)", seconds)

    def reserve_all() -> None:
        for reference in (f"B-{number}" for number in range(10)):
            with acting(who) as act:
                reserve(act, Job.objects.select_related("depot", "arrangement").get(reference=reference))

    say("reserve ten jobs, one after the other", timed(reserve_all)[0])


def main() -> None:
    if len(sys.argv) > 1:
        measure_here(Path(sys.argv[1]))
        return
    with tempfile.TemporaryDirectory(prefix="fettlebook-bench-") as folder:
        path = write_register(Path(folder) / "register.xlsx", dt.date.today())
        on_each_engine("tests.bench.load_register", str(path))


if __name__ == "__main__":
    main()
