"""A register workbook changed and loaded again, and what the load says of it."""

from __future__ import annotations

from pathlib import Path

from kit.models import LedgerEntry
from kit.workbooks.loading import LoadReport
from tests.kit.workbooks.depot_book import Book, counts, dump, loaded


def again(book: Book, tmp_path: Path) -> LoadReport:
    """Load a changed workbook, and once more, which must change nothing."""
    path = book.xlsx(tmp_path / "again.xlsx")
    report = loaded(path)
    assert report.loaded, report.faults.text_report()
    before = dump()
    assert counts(loaded(path))[:2] == (0, 0)
    assert dump() == before
    return report


def changed(report: LoadReport) -> list[tuple[str, str, str]]:
    return [(row.sheet, row.key, row.what) for row in report.rows if row.outcome == "changed"]


def told_of(tag: str) -> list[str]:
    """What the ledger tells of an item, latest first."""
    entries = LedgerEntry.objects.filter(mentions__about=f"item:{tag}").order_by("-number")
    return [entry.deed for entry in entries]
