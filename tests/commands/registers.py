"""A small register for the commands to answer from, loaded from a depot's workbook."""

from __future__ import annotations

from pathlib import Path

from tests.kit.workbooks.depot_book import Book, depot_book, in_days

COMPLETE, SHORT = "J-1", "J-3"


def command_book() -> Book:
    """The usual depot's book, and a third job that wants more bags than there are."""
    book = depot_book()
    book.add("Arrangements", arrangement="long stop", line="bags", kind="bag", quantity=9, match="bore")
    book.add(
        "Jobs",
        reference=SHORT,
        depot="NY",
        load_on=in_days(40),
        return_on=in_days(41),
        bore_mm=159.6,
        arrangement="long stop",
    )
    return book


def command_workbook(folder: Path) -> Path:
    return command_book().xlsx(folder / "depot.xlsx")
