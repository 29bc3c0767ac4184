"""Days counted from the day the workbook is made for, and the ways in which people write them down."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Literal

from dateutil.relativedelta import relativedelta

Cell = date | str | int
Style = Literal[
    "date", "day text", "iso text", "month text", "iso month text", "gs1 text", "gs1 number", "quarter"
]


def in_days(day: date, days: int) -> date:
    return day + timedelta(days=days)


def in_months(day: date, months: int) -> date:
    """So many months later (earlier if negative); the last day of a shorter month for one that it lacks."""
    return day + relativedelta(months=months)


def month_end(day: date) -> date:
    return day + relativedelta(day=31)


def quarter_end(day: date) -> date:
    return day + relativedelta(month=3 * (1 + (day.month - 1) // 3), day=31)


def last_day_of(day: date, style: Style) -> date:
    """The day that counts once `day` has been written in that style: a month or quarter runs to its end."""
    if style == "quarter":
        return quarter_end(day)
    return month_end(day) if style in ("month text", "iso month text", "gs1 text", "gs1 number") else day


def written(day: date, style: Style) -> Cell:
    """The cell: a real date, or the text or number that somebody copied off a label.

    The two GS1 styles write a whole month, YYMM00.
    """
    match style:
        case "date":
            return day
        case "day text":
            return f"{day:%d/%m/%Y}"
        case "iso text":
            return day.isoformat()
        case "month text":
            return f"{day:%m/%Y}"
        case "iso month text":
            return f"{day:%Y-%m}"
        case "gs1 text":
            return f"{day:%y%m}00"
        case "gs1 number":
            return int(f"{day:%y%m}00")
        case "quarter":
            return f"{1 + (day.month - 1) // 3}/{day:%y}"
