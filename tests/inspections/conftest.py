"""The register's day, moved by a test."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.utils import timezone


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Moves the register's day: clock(3) is three days from the day on which the test began."""
    began = timezone.now()

    def turn(days: int) -> None:
        monkeypatch.setattr(timezone, "now", lambda: began + timedelta(days=days))

    return turn
