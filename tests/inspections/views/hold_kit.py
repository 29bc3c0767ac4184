"""A yard with what a hold test needs: bags asked a hold test, a gauge calibrated yesterday."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from inspections.models import Check, HoldRun
from kit.models import Item
from tests.kit.views.holm import Yard

HOLD = "hold test and visual"


def gauge(yard: Yard, tag: str = "G-1") -> Item:
    return yard.receive(tag)


def bag(yard: Yard, tag: str) -> Item:
    """A bag never tested, of 150 to 180 mm."""
    sizes = {"bore_min_mm": Decimal(150), "bore_max_mm": Decimal(180)}
    return yard.receive(tag, kind="bag", passed=False, serial=f"S-{tag}", **sizes)


def hold_check() -> Check:
    return Check.objects.get(kind__name="bag", name=HOLD)


def pass_time(tag: str, minutes: float = 5) -> None:
    """As if the clock had been started so much earlier: no test waits five minutes."""
    run = HoldRun.objects.get(item__tag=tag)
    run.started_at -= timedelta(minutes=minutes)
    run.save()
