"""How dates, moments, sizes and counts read on paper: short, and never to be mistaken for another."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from kit.papers.values import Millimetres

# Spelt out here because strftime would follow the machine's locale, and 03/04 is read both ways.
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_NO_BREAK = "\u00a0"


def day(when: date) -> str:
    """`12 Nov 2026`."""
    return _NO_BREAK.join((str(when.day), _MONTHS[when.month - 1], str(when.year)))


def weekday(when: date) -> str:
    """`Thu 12 Nov 2026`."""
    return _DAYS[when.weekday()] + _NO_BREAK + day(when)


def moment(when: datetime) -> str:
    """`Thu 12 Nov 2026 06:10 GMT`; the zone is there because one hour comes twice when the clocks go back."""
    return f"{weekday(when)} {when:%H:%M}{_NO_BREAK}{when.tzname()}"


def millimetres(length: Millimetres) -> str:
    """`165.2`, `180`: no trailing zeros, no exponent."""
    text = f"{Decimal(str(length)):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def wall_class(material: str, text: str) -> str:
    """The class of a main's wall as people say it: a bare number is an SDR, or of steel a schedule."""
    text = text.strip()
    if text[:1].isdigit():
        return f"{'sch' if 'steel' in material.casefold() else 'SDR'} {text}"
    return f"SDR {text[3:].strip()}" if text.upper().startswith("SDR") else text


def size_range(least: Millimetres | None, most: Millimetres | None) -> str:
    """`150–180 mm`, `180 mm` when both ends agree, `from`/`to` when one is unknown, empty when both are."""
    if least is not None and most is not None and least != most:
        return f"{millimetres(least)}–{millimetres(most)}{_NO_BREAK}mm"
    if least is not None:
        return f"{'' if least == most else 'from '}{millimetres(least)}{_NO_BREAK}mm"
    return "" if most is None else f"to {millimetres(most)}{_NO_BREAK}mm"


def counted(number: int, one: str, many: str = "") -> str:
    """`1 piece`, `2 pieces`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def goes_with(set_name: str, kind: str, mark: str, line_kind: str, assembly: str) -> str:
    """What else a piece on a line goes with, or whose place it takes, in a few words; mostly nothing."""
    unit = f", mark {mark}" if mark else ""
    said = (
        f"stands in for a {line_kind}" if kind != line_kind else "",
        f"of the set {set_name}" if set_name else "",
        f"of the assembly {assembly}{unit}" if assembly else "",
    )
    return "; ".join(part for part in said if part)
