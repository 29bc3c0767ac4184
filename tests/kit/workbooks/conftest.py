"""The register's own workbook, for the tests that change it and load it again."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.kit.workbooks.depot_book import Book, depot_book, loaded


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """The register's own workbook, loaded."""
    made = depot_book()
    assert loaded(made.xlsx(tmp_path / "first.xlsx")).loaded
    return made
