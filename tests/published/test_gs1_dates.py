"""GS1 dates (YYMMDD): the century and the day 00, against published values and the library biip."""

import datetime as dt
import json
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import pytest
from biip import ParseError, gs1_element_strings
from biip.gs1_element_strings import GS1ElementString

from kit.planning.printed_dates import DateFault, gs1_year, read_printed_date

VALUES = json.loads((Path(__file__).parent / "values.json").read_text())
DAY_VALUES = [value for value in VALUES if value["id"].startswith("gs1-17-")]
(CENTURY,) = [value for value in VALUES if value["id"] == "gs1-century"]
(ELEMENT_STRING,) = [value for value in VALUES if value["id"] == "gs1-element-string"]
TODAY = date(2026, 11, 25)


def turn_biips_clock_to(today: date, monkeypatch: pytest.MonkeyPatch) -> None:
    """biip takes the year from the clock; ours is told the day. Both are put on the same one."""
    clock = SimpleNamespace(now=lambda tz: dt.datetime(today.year, today.month, today.day, tzinfo=tz))
    monkeypatch.setattr(gs1_element_strings, "dt", SimpleNamespace(date=date, datetime=clock, UTC=dt.UTC))


def biips_date(digits: str) -> date | None:
    return GS1ElementString.extract(f"17{digits}").date


@pytest.mark.parametrize("value", DAY_VALUES, ids=lambda value: value["id"])
def test_use_by_dates_of_the_gs1_general_specifications(value: dict) -> None:
    """Source: values.json (GS1 General Specifications, AI (17), YYMMDD with day 00; biip 5.2.0)."""
    digits = value["inputs"].removeprefix("17")
    for printed in (digits, int(digits), float(digits)):
        read = read_printed_date(printed, today=TODAY)
        assert read.day.isoformat() == value["expected"]
        assert read.precision == ("month" if digits.endswith("00") else "day")


def test_every_use_by_value_was_looked_at() -> None:
    assert len(DAY_VALUES) == 3


def test_century_of_two_figures() -> None:
    """Source: values.json, gs1-century (GS1 General Specifications, determination of century; biip 5.2.0)."""
    today = date.fromisoformat(CENTURY["inputs"]["today"])
    read = [read_printed_date(digits, today=today).day.isoformat() for digits in CENTURY["inputs"]["17"]]
    assert read == CENTURY["expected"]


def test_use_by_within_an_element_string() -> None:
    """Source: values.json, gs1-element-string: 01 (14 figures), then 17 (6 figures), then the batch."""
    inputs, expected = ELEMENT_STRING["inputs"], ELEMENT_STRING["expected"]
    digits = inputs.removeprefix(f"01{expected['01']}17")[:6]
    assert read_printed_date(digits, today=TODAY).day.isoformat() == expected["17"]


@pytest.mark.parametrize("year", range(2000, 2100))
def test_the_century_of_every_year_agrees_with_biip(year: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Source: biip 5.2.0, all hundred years of two figures seen from every year of this century."""
    today = date(year, 7, 1)
    turn_biips_clock_to(today, monkeypatch)
    for figures in range(100):
        theirs = biips_date(f"{figures:02d}0615")
        assert theirs is not None
        assert gs1_year(figures, today) == theirs.year


def test_every_day_of_a_hundred_years_agrees_with_biip(monkeypatch: pytest.MonkeyPatch) -> None:
    """Source: biip 5.2.0, every YYMMDD with a day from 00 to 31, impossible ones refused by both."""
    turn_biips_clock_to(TODAY, monkeypatch)
    compared = refused = 0
    for figures in range(0, 100, 3):
        for month in range(14):
            for day in range(32):
                digits = f"{figures:02d}{month:02d}{day:02d}"
                try:
                    theirs = biips_date(digits)
                except ParseError:
                    theirs = None
                if theirs is None:
                    with pytest.raises(DateFault):
                        read_printed_date(digits, today=TODAY)
                    refused += 1
                else:
                    assert read_printed_date(digits, today=TODAY).day == theirs, digits
                compared += 1
    assert compared == 34 * 14 * 32
    assert refused > 0
