"""Cells as they come out of a file: when one is blank, how its text is tidied, and how a fault shows it."""

from __future__ import annotations

import datetime as dt
import enum
from typing import Final


class Mark(enum.Enum):
    """Stands in a row for a value that cannot be known and whose fault is reported already."""

    UNREADABLE = "unreadable"


UNREADABLE: Final = Mark.UNREADABLE

CellValue = str | int | float | bool | dt.date | dt.datetime | dt.time | dt.timedelta
"""A cell as python-calamine gives it; every cell of a .csv is text, and a cell with nothing in it is ''."""

UNSEEN: Final = "\u00ad\u200b\u200c\u200d\u200e\u200f\u2060\ufeff"
"""Characters without width that come along when text is copied: soft hyphen, zero-width, direction marks."""

_NOTHING_TO_SEE: Final = UNSEEN + "".join(chr(code) for code in range(0x3001) if chr(code).isspace())
_DROP_UNSEEN: Final = dict.fromkeys(map(ord, UNSEEN))
_MOST_SHOWN: Final = 80


def is_blank(cell: CellValue) -> bool:
    """Whether a cell holds nothing, or only characters that nobody sees."""
    return isinstance(cell, str) and not cell.strip(_NOTHING_TO_SEE)


def tidy(text: str) -> str:
    """Text without zero-width characters and outer spaces, every run of spaces or breaks one space."""
    return " ".join(text.translate(_DROP_UNSEEN).split())


def shown(cell: object) -> str:
    """A cell's value as a fault shows it: dates as YYYY-MM-DD, cut to 80 characters."""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, float):
        return f"{cell:.15g}"
    if isinstance(cell, dt.datetime):
        return cell.isoformat(" ", "minutes") if cell.time() != dt.time(0) else cell.date().isoformat()
    return clipped(str(cell))


def clipped(text: str) -> str:
    """The text in one line, cut to 80 characters, dots where something was cut off.

    A control character or one without width shows as U+FFFD: it must not act on a terminal, nor stay unseen.
    """
    text = "".join(one if one.isprintable() else "\ufffd" for one in " ".join(text.split()))
    return text if len(text) <= _MOST_SHOWN else f"{text[: _MOST_SHOWN - 3]}..."
