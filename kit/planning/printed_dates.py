"""Dates as labels and registers print them: a day, a month or a quarter, read strictly, or refused with why.

The last day of what is printed counts: a use-by of March 2027 runs to 31 March 2027. Where two readings
are possible nothing is guessed: the fault says what to write instead.
"""

from __future__ import annotations

import calendar
import math
import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Literal

Convention = Literal["month", "quarter", ""]
"""What `3/94` means on the labels of a kind and maker: March, the third quarter, or not known."""
Precision = Literal["day", "month", "quarter"]
Want = Literal["day", "any"]

_FIRST_YEAR, _LAST_YEAR = 1900, 2199
# Day 1 of a spreadsheet is 1 January 1900. Counting from here is right from March 1900 on: spreadsheets
# have a 29 February 1900, which never was.
_SERIAL_ZERO = date(1899, 12, 30)
_SERIAL_MARCH_1900 = 61

# Full-width figures and marks (U+FF0D to U+FF19), and dashes that look like the hyphen, stand for the
# plain ones.
_PLAIN = {wide: wide - 0xFEE0 for wide in range(0xFF0D, 0xFF1A)}
_PLAIN |= dict.fromkeys((0x2010, 0x2011, 0x2012, 0x2013, 0x2212), ord("-"))
_UNSEEN = re.compile("[\u200b-\u200f\u2060\ufeff]")

_YEAR_FIRST = re.compile(r"([0-9]{4})([-/.])([0-9]{1,2})(?:\2([0-9]{1,2}))?")
_DAY_FIRST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{4})")
_MONTH_FIRST = re.compile(r"([0-9]{1,2})([-/.])([0-9]{4})")
_SHORT_YEAR_DAY = re.compile(r"([0-9]{1,2})([-/.])([0-9]{1,2})\2([0-9]{2})")
_SHORT_YEAR = re.compile(r"([0-9]{1,2})/([0-9]{2})")
_OTHER_SHORT = re.compile(r"[0-9]{1,2}[-.][0-9]{1,2}")
_TIME = re.compile(r"[0-9](?:T| +)[0-9]{1,2}:[0-9]{2}")
_MIDNIGHT = re.compile(r"(?<=[0-9])(?:T| +)00:00(?::00(?:\.0+)?)?Z?$")

_AS_DATE = "Format the column as a date, or write it as"
_FORMS = "Write a day as 31/03/2027 or 2027-03-31, a month as 03/2027."


class DateFault(ValueError):
    """A value that is no date, or more than one. `why` and `instead` are a sentence each."""

    def __init__(self, why: str, instead: str) -> None:
        super().__init__(f"{why} {instead}")
        self.why = why
        self.instead = instead


@dataclass(frozen=True, slots=True)
class PrintedDate:
    """The last day printed, how exact the print is, and the print itself without the spaces round it."""

    day: date
    precision: Precision
    text: str


def first_day(printed: PrintedDate) -> date:
    """The first day that the print covers (made in March 2027: 1 March 2027); of a day, that day."""
    if printed.precision == "day":
        return printed.day
    months_back = 2 if printed.precision == "quarter" else 0
    return printed.day.replace(day=1, month=printed.day.month - months_back)


def gs1_year(two_digits: int, today: date) -> int:
    """The year that GS1's two digits mean on `today`: 49 years back to 50 ahead.

    Source: GS1 General Specifications, determination of century in dates (section 7.12).
    """
    century = today.year - today.year % 100
    ahead = two_digits - today.year % 100
    if ahead >= 51:
        return century - 100 + two_digits
    if ahead <= -50:
        return century + 100 + two_digits
    return century + two_digits


def read_printed_date(
    value: object, convention: Convention = "", want: Want = "any", *, today: date
) -> PrintedDate:
    """Read a date from a cell, a form or a label.

    Taken: dates and midnights; 2027-03-31; 31/03/2027 (day first; 31.03.2027 too); 2027-03 and 03/2027,
    a month; GS1 YYMMDD as text or as a whole number, day 00 for a whole month; 3/94 as `convention`
    says. `want` "day" refuses a month or a quarter. `today` settles the century of a two-digit year, as
    GS1 does. Raises DateFault, with what to write instead, for what is impossible, ambiguous or no date
    at all.
    """
    printed = _read(value, convention, today)
    if want == "day" and printed.precision != "day":
        raise DateFault(
            f"{_shown(value)} names a whole {printed.precision}, and a day is needed here.",
            f"Write the day, such as {printed.day:%d/%m/%Y}.",
        )
    return printed


def _read(value: object, convention: Convention, today: date) -> PrintedDate:
    if isinstance(value, datetime):
        if value.time() != time(0):
            raise DateFault(
                f"{value:%d/%m/%Y %H:%M} carries a time of day.", f"Write the date alone: {value:%d/%m/%Y}."
            )
        return _day(value.year, value.month, value.day, f"{value:%Y-%m-%d}")
    if isinstance(value, date):
        return _day(value.year, value.month, value.day, value.isoformat())
    if isinstance(value, str):
        return _read_text(value, convention, today)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _read_number(value, today)
    if value is None:
        raise DateFault("There is no date here.", _FORMS)
    raise DateFault(f"{_shown(value)} is not a date.", _FORMS)


def _read_number(value: int | float, today: date) -> PrintedDate:
    if not math.isfinite(value) or value < 0:
        raise DateFault(f"The number {_shown(value)} is not a date.", _FORMS)
    if value != int(value):
        raise _serial_fault(str(value), int(value), today)
    return _read_digits(str(int(value)), today)


def _read_text(value: str, convention: Convention, today: date) -> PrintedDate:
    printed = _UNSEEN.sub("", value.translate(_PLAIN)).strip()
    text = re.sub(r"\s*([-/.])\s*", r"\1", _MIDNIGHT.sub("", printed))
    if not text:
        raise DateFault("There is no date here.", _FORMS)
    if re.fullmatch(r"[0-9]+", text):
        return _read_digits(text, today)
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = int(found[1]), int(found[3]), found[4]
        return _month(year, month, printed) if day is None else _day(year, month, int(day), printed)
    if found := _DAY_FIRST.fullmatch(text):
        return _read_day_first(int(found[1]), int(found[3]), int(found[4]), found[2], printed)
    if found := _MONTH_FIRST.fullmatch(text):
        return _read_month_first(found[1], int(found[3]), convention, printed)
    if found := _SHORT_YEAR.fullmatch(text):
        return _read_short_year(int(found[1]), gs1_year(int(found[2]), today), convention, printed)
    if _SHORT_YEAR_DAY.fullmatch(text):
        raise DateFault(
            f"{_shown(printed)} has a year of two digits, so which number is the day cannot be told.",
            "Write the year in full, day first: 31/03/2027.",
        )
    if _TIME.search(text):
        raise DateFault(
            f"{_shown(printed)} carries a time of day.", "Write the date alone, such as 31/03/2027."
        )
    if _OTHER_SHORT.fullmatch(text):
        raise DateFault(f"{_shown(printed)} is ambiguous: a month and a year, or a day and a month?", _FORMS)
    raise DateFault(f"{_shown(printed)} cannot be read as a date.", _FORMS)


def _read_digits(digits: str, today: date) -> PrintedDate:
    if len(digits) == 8:
        return _read_eight_digits(digits)
    if len(digits) == 6:
        return _read_gs1(digits, today)
    if len(digits) == 4 and _FIRST_YEAR <= int(digits) <= _LAST_YEAR:
        raise DateFault(f"{digits} is a year alone.", f"Write the month or the day as well: 03/{digits}.")
    if len(digits) <= 5:
        raise _serial_fault(digits, int(digits), today)
    raise DateFault(f"{_shown(digits)} is not a date: GS1 dates have six digits.", _FORMS)


def _read_eight_digits(digits: str) -> PrintedDate:
    year, month, day = int(digits[:4]), int(digits[4:6]), int(digits[6:])
    last = (int(digits[:2]), int(digits[2:4]), int(digits[4:]))
    if not _FIRST_YEAR <= year <= _LAST_YEAR and _exists(last[2], last[1], last[0]):
        raise DateFault(
            f"{digits} has the day first without strokes.", f"Write {digits[:2]}/{digits[2:4]}/{digits[4:]}."
        )
    return _day(year, month, day, digits)


def _read_gs1(digits: str, today: date) -> PrintedDate:
    """GS1 YYMMDD; day 00 is the last day of the month (GS1 General Specifications, AI (17))."""
    year, month, day = gs1_year(int(digits[:2]), today), int(digits[2:4]), int(digits[4:])
    if not 1 <= month <= 12:
        year_month, hint = digits[:4], "Write year, month and day as YYMMDD, such as 270331."
        if 1 <= day <= 12 and _FIRST_YEAR <= int(year_month) <= _LAST_YEAR:
            hint = f"For a month write {year_month}-{day:02d}."
        raise DateFault(f"{digits} read as a GS1 date (YYMMDD) has no such month as {month:02d}.", hint)
    return _month(year, month, digits) if day == 0 else _day(year, month, day, digits)


def _read_day_first(day: int, month: int, year: int, stroke: str, printed: str) -> PrintedDate:
    # With dashes both orders are in use; with strokes or points the register's rule is day first.
    if stroke == "-" and day != month and day <= 12 and month <= 12:
        raise DateFault(
            f"{_shown(printed)} is ambiguous: with dashes either number may be the day.",
            f"Write {day:02d}/{month:02d}/{year} if {day} is the day, or {year}-{month:02d}-{day:02d}.",
        )
    if month > 12 and _exists(year, day, month):
        raise DateFault(
            f"There is no month {month}: {_shown(printed)} has the month first.",
            f"Write the day first: {month:02d}/{day:02d}/{year}.",
        )
    return _day(year, month, day, printed)


def _read_month_first(number: str, year: int, convention: Convention, printed: str) -> PrintedDate:
    if convention == "quarter" and len(number) == 1 and 1 <= int(number) <= 4:
        raise DateFault(
            f"{_shown(printed)} is ambiguous, because labels of this kind and maker print quarters.",
            f"Write 0{number}/{year} for the month, or {number}/{year % 100:02d} for the quarter.",
        )
    return _month(year, int(number), printed)


def _read_short_year(number: int, year: int, convention: Convention, printed: str) -> PrintedDate:
    """`3/94`: the third month or the third quarter of a year, as the labels of the kind and maker have it."""
    if convention == "quarter":
        if not 1 <= number <= 4:
            raise DateFault(
                f"There is no quarter {number}, and labels of this kind and maker print quarters.",
                f"Write the month with the year in full, such as {min(max(number, 1), 12):02d}/{year}.",
            )
        return PrintedDate(_last_of_month(year, number * 3), "quarter", printed)
    if convention == "" and 1 <= number <= 4:
        raise DateFault(
            f"{_shown(printed)} is ambiguous: month {number} or quarter {number} of {year}?",
            f"Write {number:02d}/{year} for the month or {_last_of_month(year, number * 3):%d/%m/%Y} for the "
            "end of the quarter, or set for the kind and maker what their labels print.",
        )
    return _month(year, number, printed)


def _month(year: int, month: int, printed: str) -> PrintedDate:
    if not 1 <= month <= 12:
        raise DateFault(
            f"There is no month {month}.", "Write a month from 01 to 12 and the year, such as 03/2027."
        )
    _check_year(year)
    return PrintedDate(_last_of_month(year, month), "month", printed)


def _day(year: int, month: int, day: int, printed: str) -> PrintedDate:
    if not 1 <= month <= 12:
        raise DateFault(f"There is no month {month}.", _FORMS)
    _check_year(year)
    if not _exists(year, month, day):
        last = calendar.monthrange(year, month)[1]
        raise DateFault(
            f"There is no day {day} in {calendar.month_name[month]} {year}.", f"Write a day from 1 to {last}."
        )
    return PrintedDate(date(year, month, day), "day", printed)


def _check_year(year: int) -> None:
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        raise DateFault(
            f"The year {year} cannot be right.",
            f"Write a year from {_FIRST_YEAR} to {_LAST_YEAR}, or leave it empty if there is no date.",
        )


def _serial_fault(shown: str, serial: int, today: date) -> DateFault:
    """A bare number: a spreadsheet's count of days that lost its format, or a GS1 date that lost its zero."""
    why = f"{shown} is a bare number, not a date."
    if not _SERIAL_MARCH_1900 <= serial <= 99_999:
        return DateFault(why, _FORMS)
    meant = _SERIAL_ZERO + timedelta(days=serial)
    why = f"{shown} is a bare number; as a spreadsheet's count of days it would mean {meant:%d/%m/%Y}"
    if len(shown) == 5 and shown.isdigit():
        try:
            gs1 = _read_gs1(f"0{shown}", today).day
        except DateFault:
            pass
        else:
            return DateFault(
                f"{why}, as a GS1 date that lost its zero {gs1:%d/%m/%Y}.",
                f"Format the column as a date, or as text for the GS1 date 0{shown}.",
            )
    return DateFault(f"{why}.", f"{_AS_DATE} {meant:%d/%m/%Y}.")


def _exists(year: int, month: int, day: int) -> bool:
    return 1 <= month <= 12 and 1 <= year <= 9999 and 1 <= day <= calendar.monthrange(year, month)[1]


def _last_of_month(year: int, month: int) -> date:
    return date(year, month, calendar.monthrange(year, month)[1])


def _shown(value: object) -> str:
    text = str(value)
    return text if len(text) <= 40 else f"{text[:40]}..."
