"""Sizes and wall classes of mains as people write them: 180 mm, DN150, 1 1/2 in; SDR 17.6, sch 40, K9, C40."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

_SIZE = re.compile(
    r"(?P<prefix>dn|nps|od|de|d|ø)?\s*(?:(?P<whole>\d+)\s+)?(?P<number>\d+(?:[.,]\d+|/[1-9]\d*)?)\s*"
    r"(?P<unit>mm|inches|inch|in|\"|″)?",
    re.IGNORECASE,
)
_CLASSES = (
    ("SDR", re.compile(r"sdr\s*(\d+(?:[.,]\d+)?)", re.IGNORECASE)),
    ("schedule", re.compile(r"(?:schedule|sched|sch)\.?\s*(\d+|std|xs)", re.IGNORECASE)),
    ("schedule", re.compile(r"(std|xs)", re.IGNORECASE)),
    ("K", re.compile(r"(?:class\s*)?k\s*(\d+)", re.IGNORECASE)),
    ("C", re.compile(r"(?:class\s*)?c\s*(\d+)", re.IGNORECASE)),
    ("class", re.compile(r"(?:class\s*)?([a-e])", re.IGNORECASE)),
    ("", re.compile(r"(\d+(?:[.,]\d+)?)")),
)
_SPACES = re.compile(r"\s+")


@dataclass(frozen=True, slots=True)
class Size:
    """A size as written: `system` is "DN", "in" or "OD", or "" for a bare number that might be any."""

    text: str
    system: str
    number: Decimal


@dataclass(frozen=True, slots=True)
class WallClass:
    """What says how thick the wall is: `system` is "SDR", "schedule", "K", "C" or "class" (of old iron: a letter), or
    "" for a bare number.
    """

    system: str
    value: str


def read_size(size: str) -> Size | None:
    """The size that a text stands for, or None."""
    found = _SIZE.fullmatch(_tidy(size))
    if found is None:
        return None
    prefix, unit = (found["prefix"] or "").casefold(), (found["unit"] or "").casefold()
    inches = (bool(unit) and unit != "mm") or prefix == "nps"
    fraction = "/" in found["number"]
    if (found["whole"] and not fraction) or (fraction and not inches):
        return None
    number = _number(found["number"]) + Decimal(found["whole"] or 0)
    if number == 0 or (inches and prefix not in ("", "nps")) or (unit == "mm" and prefix == "nps"):
        return None
    if inches:
        return Size(size.strip(), "in", number)
    return Size(size.strip(), {"dn": "DN", "": ""}.get(prefix, "OD"), number)


def read_wall_class(text: str) -> WallClass | None:
    """The class of wall that a text stands for, or None: "SDR 17.6", "sch 40", "XS", "K9", "C40" or a bare number."""
    for system, pattern in _CLASSES:
        if found := pattern.fullmatch(_tidy(text)):
            value = found[1].upper()
            return WallClass(system, plain(_number(value)) if value[0].isdigit() else value)
    return None


def plain(number: Decimal) -> str:
    """A number without an exponent or zeros at its end: 17.6, 180."""
    return f"{number.normalize():f}"


def folded_material(material: str) -> str:
    """A material with case, spaces and dashes left out of account."""
    return "".join(filter(str.isalnum, material.casefold()))


def size_key(size: str) -> str:
    """The same text for sizes that mean the same (6 in, 6", NPS 6); what is not understood stands for itself.

    A bare number is a name, and so the same as with DN before it.
    """
    read = read_size(size)
    return f"{read.system or 'DN'} {plain(read.number)}" if read else _tidy(size).casefold()


def split_size(text: str) -> tuple[str, str]:
    """A size and the class of wall behind it: ("180", "SDR 21") of "180 SDR 21"; ("180", "") where there is none."""
    words = _tidy(text).replace(",", " ").split()
    for count in (1, 2):
        size, wall = " ".join(words[:-count]), " ".join(words[-count:])
        read = read_wall_class(wall)
        if read is not None and read.system and read_size(size):
            return size, wall
    return text, ""


def same_class(one: str, other: str) -> bool:
    """Whether two texts mean one class of wall; a bare number is the same as with its system before it."""
    first, second = read_wall_class(one), read_wall_class(other)
    if first is None or second is None:
        return _tidy(one).casefold() == _tidy(other).casefold()
    return first.value == second.value and (
        first.system == second.system or "" in (first.system, second.system)
    )


def _tidy(text: str) -> str:
    return _SPACES.sub(" ", text).strip()


def _number(text: str) -> Decimal:
    if "/" in text:
        over, under = text.split("/")
        return Decimal(over) / Decimal(under)
    return Decimal(text.replace(",", "."))
