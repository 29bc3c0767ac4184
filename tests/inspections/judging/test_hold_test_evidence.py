"""A hold test that is no evidence is refused, column by column, each with why."""

from datetime import date
from decimal import Decimal

import pytest

from inspections.judging import GaugeStanding, HoldLimits, HoldTest, PrintedLimits, Unit, refusals

LIMITS = HoldLimits("bar", Decimal("0.2"), Decimal("0.01"), Decimal(5))
PRINTED = HoldLimits(
    "bar", Decimal("0.2"), Decimal("0.01"), Decimal(5), other_units={"psi": PrintedLimits(Decimal(3))}
)
GOOD = GaugeStanding("G-01", "in calibration")


def held(
    start: str = "0.2", end: str = "0.199", unit: Unit = "bar", minutes: str = "5", **more: Decimal
) -> HoldTest:
    return HoldTest(Decimal(start), Decimal(end), unit, Decimal(minutes), **more)


def refused(
    test: HoldTest, limits: HoldLimits = LIMITS, gauge: GaugeStanding = GOOD
) -> list[tuple[str, str]]:
    return [(refusal.field, refusal.text) for refusal in refusals(test, limits, gauge)]


def test_a_test_at_every_limit_is_evidence() -> None:
    assert refused(held()) == []
    assert refused(held(start_c=Decimal(-60), end_c=Decimal(80), ambient_bar=Decimal("0.95"))) == []


def test_a_limit_that_the_check_lacks_refuses_nothing() -> None:
    assert refused(held("50", "50", minutes="0.5"), HoldLimits("bar")) == []


def test_too_short_a_time() -> None:
    assert refused(held(minutes="4.5")) == [
        ("minutes", "Held 4.5 minutes, but this check asks for 5; hold it again for the full time.")
    ]
    for minutes in ("0", "-5"):
        assert refused(held(minutes=minutes)) == [
            ("minutes", f"Held {minutes} minutes; write a time above zero.")
        ]


def test_too_high_a_pressure() -> None:
    assert refused(held("0.2001")) == [
        (
            "start_pressure",
            "The start pressure of 0.2001 bar is more than 0.2 bar as printed: was it read in psi?",
        )
    ]
    assert refused(held("250", "250", "mbar")) == [
        (
            "start_pressure",
            "The start pressure of 250 mbar is more than 0.2 bar converted to 200 mbar: test again at or below it.",
        )
    ]


@pytest.mark.parametrize(
    ("start", "unit", "meant"),
    [
        ("3", "bar", "psi"),  # 3 psi is 0.2068 bar: what a dial with both scales calls 0.2 bar
        ("2.9", "bar", "psi"),
        ("20", "bar", "kPa"),
        ("200", "bar", "mbar"),
        ("20", "psi", "kPa"),
        ("200", "kPa", "mbar"),
    ],
)
def test_a_pressure_that_would_fit_in_another_unit_asks_for_it(start: str, unit: Unit, meant: str) -> None:
    ((field, text),) = refused(held(start, "0", unit))
    assert field == "start_pressure"
    assert text.endswith(f": was it read in {meant}?")


@pytest.mark.parametrize(("start", "unit"), [("500", "bar"), ("250", "mbar")])
def test_a_pressure_that_fits_in_no_unit_asks_for_none(start: str, unit: Unit) -> None:
    ((_, text),) = refused(held(start, "0", unit))
    assert text.endswith("test again at or below it.")


def test_three_psi_is_refused_by_the_limit_in_bar_and_let_in_by_the_one_printed_for_psi() -> None:
    """3 psi is 0.2068 bar (values.json, unit-3psi-bar)."""
    three = held("3", "2.95", "psi")
    ((field, text),) = refused(three)
    assert field == "start_pressure"
    assert "more than 0.2 bar converted to 2.901 psi" in text
    assert refused(three, PRINTED) == []


def test_pressures_below_zero() -> None:
    assert [field for field, _ in refused(held("-0.1", "-0.2"))] == ["start_pressure", "end_pressure"]
    assert refused(held("0", "0")) == []


def test_temperatures_come_in_pairs_and_from_this_world() -> None:
    assert refused(held(start_c=Decimal(10))) == [
        ("end_c", "end_c is empty; write both temperatures, or neither.")
    ]
    assert refused(held(end_c=Decimal(10)))[0][0] == "start_c"
    slips = refused(held(start_c=Decimal("-60.1"), end_c=Decimal("80.1")))
    assert [field for field, _ in slips] == ["start_c", "end_c"]
    assert all("surely a slip of the key" in text for _, text in slips)
    ((_, text),) = refused(held(start_c=Decimal(-300), end_c=Decimal(10)))
    assert "below absolute zero" in text


def test_a_barometer_in_another_unit() -> None:
    ((field, text),) = refused(held(ambient_bar=Decimal(1013)))
    assert field == "ambient_bar"
    assert "1013 bar is no pressure of the air outside" in text


@pytest.mark.parametrize(
    ("gauge", "says"),
    [
        (GaugeStanding("", "missing"), "No gauge is named"),
        (GaugeStanding("G-99", "unknown"), "G-99 is no gauge in the register"),
        (GaugeStanding("B-01", "the item itself"), "B-01 is the item under test"),
        (
            GaugeStanding("G-01", "out of calibration", date(2026, 9, 1)),
            "Gauge G-01 was out of calibration on that day, since 2026-09-01",
        ),
        (GaugeStanding("G-01", "out of calibration"), "Gauge G-01 had no calibration on record by that day"),
    ],
)
def test_a_gauge_that_proves_nothing(gauge: GaugeStanding, says: str) -> None:
    ((field, text),) = refused(held(), gauge=gauge)
    assert field == "gauge"
    assert text.startswith(says)


def test_everything_is_refused_at_once_in_the_order_of_the_columns() -> None:
    found = refused(
        held("-1", "NaN", minutes="Infinity", start_c=Decimal("NaN"), end_c=Decimal(99)),
        gauge=GaugeStanding("", "missing"),
    )
    assert [field for field, _ in found] == [
        "start_pressure",
        "end_pressure",
        "minutes",
        "start_c",
        "end_c",
        "gauge",
    ]
    assert all(text.endswith(".") for _, text in found)


def test_an_unknown_unit_is_refused() -> None:
    ((field, text),) = refused(held(unit="inHg"))  # type: ignore[arg-type]
    assert field == "unit"
    assert "write bar, mbar, kPa or psi" in text
