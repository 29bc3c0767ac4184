"""A bench to test at: bags with a hold test, gauges with a calibration, a chain with a form. Limits are made up."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from inspections.actions import (
    CheckSpec,
    Finding,
    record_calibration,
    record_hold_test,
    record_many,
    set_checks,
)
from inspections.judging import Calibration, HoldTest, Point
from inspections.models import Check, Inspection
from kit.models import Deed, Depot, Item, Kind
from kit.stores import Who, acting, found_register, receive

EXAMINER = Who("e.hand", "bench")
HOLD = CheckSpec(
    "hold test",
    "P6M",
    method="hold test",
    unit="bar",
    max_pressure=Decimal("0.2"),
    max_drop=Decimal("0.01"),
    hold_minutes=Decimal(5),
    guard=Decimal("0.002"),
    other_limits={"psi": {"max_pressure": "3", "max_drop": "0.15", "guard": "0.03"}},
)
CALIBRATION = CheckSpec(
    "calibration",
    "P12M",
    method="calibration",
    unit="bar",
    accuracy_class=Decimal("1.6"),
    span=Decimal("0.6"),
)
FORM = {
    "fields": [
        {
            "name": "length_mm",
            "label": "Length",
            "kind": "number",
            "unit": "mm",
            "needed": True,
            "most": "1000",
        },
        {"name": "marks", "label": "Marks", "kind": "yes-no", "needed": True, "wanted": ["yes"]},
    ]
}
EXAMINATION = CheckSpec("examination", "P6M", form=FORM)


def day(ago: int = 0) -> date:
    return timezone.localdate() - timedelta(days=ago)


def kind(name: str) -> Kind:
    return Kind.objects.get(name=name)


def item(tag: str) -> Item:
    return Item.objects.select_related("kind").get(tag=tag)


def check(of: str, name: str) -> Check:
    return Check.objects.select_related("kind").get(kind__name=of, name=name)


def do(action: Callable[..., Any], *arguments: Any, who: Who = EXAMINER, **more: Any) -> Any:
    """Run one action in an act of its own."""
    with acting(who) as act:
        return action(act, *arguments, **more)


def bench() -> None:
    """Bags B-1 to B-3; gauges G-1, calibrated 100 days ago, G-OLD, 500 days ago, and G-NEW, never; chain C-1."""
    with acting(EXAMINER) as act:
        found_register(act)
        yard = act.create(Depot(code="NY", name="North yard"))
        act.tell(Deed.CHANGED, [yard], note="depot set up")
        for name, spec in (
            ("bag", HOLD),
            ("gauge", CALIBRATION),
            ("chain set", EXAMINATION),
            ("base", CheckSpec("visual", "P12M")),
        ):
            set_checks(act, kind(name), [spec])
        tags = {"bag": ("B-1", "B-2", "B-3"), "gauge": ("G-1", "G-OLD", "G-NEW"), "chain set": ("C-1",)}
        tags["base"] = ("S-1",)
        receive(
            act,
            [
                Item(tag=tag, kind=kind(name), depot=yard, serial=tag)
                for name, some in tags.items()
                for tag in some
            ],
        )
        calibrated = check("gauge", "calibration")
        certificates = [Finding(item("G-1"), calibrated, day(100), "pass", certificate="C-100")]
        certificates.append(Finding(item("G-OLD"), calibrated, day(500), "pass", certificate="C-500"))
        record_many(act, certificates)


def held(
    start: str = "0.2", end: str = "0.199", unit: Any = "bar", minutes: str = "5", **more: str
) -> HoldTest:
    return HoldTest(
        Decimal(start),
        Decimal(end),
        unit,
        Decimal(minutes),
        **{name: Decimal(value) for name, value in more.items()},
    )


def hold(tag: str, test: HoldTest, gauge: str | None = "G-1", ago: int = 0, **more: Any) -> Inspection:
    """Record a hold test as at the bench."""
    on = item(gauge) if gauge else None
    return do(record_hold_test, item(tag), check("bag", "hold test"), on, test, day(ago), **more)


def points(*rows: tuple[str, ...], unit: Any = "bar") -> Calibration:
    """Points from (direction, reference, as found, as left if read)."""
    return Calibration(unit, tuple(Point(row[0], *(Decimal(one) for one in row[1:])) for row in rows))  # type: ignore[arg-type]


def calibrate(tag: str, calibration: Calibration, ago: int = 0, **more: Any) -> Inspection:
    return do(record_calibration, item(tag), check("gauge", "calibration"), calibration, day(ago), **more)
