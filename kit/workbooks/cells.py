"""Reading the cells of a row by what they should hold: each gives a value, or adds exactly one fault."""

from __future__ import annotations

import datetime as dt
import math
import re
import unicodedata
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from kit.planning.printed_dates import Convention, DateFault, PrintedDate, Want, read_printed_date
from kit.workbooks.cell_text import UNREADABLE, CellValue, shown, tidy
from kit.workbooks.faults import Fault, Faults
from kit.workbooks.register_sheet import Row
from kit.workbooks.sheets import SheetSpec, folded_name, nearest_name

TEXT_LIMIT: Final = 200
MOST_MM: Final = Decimal(5000)
"""No bore, wall or main of this trade is larger: a plausibility limit, common practice, no source."""

_MOST_NUMBER: Final = Decimal(1_000_000_000)
_EXACT_FLOAT: Final = 10**15
_NUMBER: Final = re.compile(r"([+-]?)([0-9]+)(?:([.,])([0-9]+))?\s*(\D*)")
_YES: Final = frozenset({"yes", "y", "true", "1", "ja", "j"})
_NO: Final = frozenset({"no", "n", "false", "0", "nein"})
_SPACES_AND_DASHES: Final = re.compile(r"[\s_\-]+")
_TURNS: Final = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_A_DATE: Final = "The spreadsheet holds a date or time here"
_DATED: Final = (dt.date, dt.time, dt.timedelta)


class RowReader:
    """Reads one row's cells. A blank cell, and one that has a fault, gives None (text: an empty string).

    A blank cell stands for its column's default where the sheet has one. `faulty` names the columns that
    cannot be relied on, those included whose fault was reported when the file was opened.
    """

    def __init__(self, spec: SheetSpec, row: Row, faults: Faults) -> None:
        self.row = row
        self.faulty: set[str] = set()
        self._spec = spec
        self._faults = faults
        self._defaults = {column.name: column.default for column in spec.columns}

    def fault(self, column: str, why: str) -> None:
        """Add a fault at that column's cell, with its value, and count the column as faulty."""
        value = self.row.values.get(column)
        self.faulty.add(column)
        if value is not UNREADABLE:
            text = None if value is None else shown(value)
            self._faults.add(Fault(self._spec.name, self.row.number, column, text, why))

    def text(
        self, column: str, *, required: bool = False, most: int = TEXT_LIMIT, takes_dates: bool = False
    ) -> str:
        """Text in one line, without the characters that nobody sees; at most `most` characters.

        A whole number becomes its digits (1234.0 is 1234), because labels of digits turn into numbers in a
        spreadsheet. A real date is refused unless `takes_dates`: a batch such as 3-94 turns into one.
        """
        cell = self._cell(column, required)
        if cell is None:
            return ""
        if isinstance(cell, _DATED) and not takes_dates:
            self.fault(column, f"{_A_DATE}: format the cell as text, then type it again.")
            return ""
        if isinstance(cell, float) and abs(cell) >= _EXACT_FLOAT:
            self.fault(
                column,
                "A spreadsheet keeps 15 digits of a number and this one has more: format the cell as text, "
                "then type it again.",
            )
            return ""
        text = unicodedata.normalize("NFC", tidy(cell if isinstance(cell, str) else _as_typed(cell)))
        # Text is nearly always printable, and what is printable holds nothing of what is looked for.
        if not text.isprintable() and (bad := next(filter(_is_control, text), None)):
            self.fault(column, f"It contains the control character U+{ord(bad):04X}: type the text again.")
            return ""
        if len(text) > most:
            self.fault(column, f"It has {len(text)} characters, and {most} is the most: shorten it.")
            return ""
        return text

    def whole_number(
        self, column: str, *, required: bool = False, least: int = 0, most: int = 1_000_000
    ) -> int | None:
        """A whole number from `least` to `most`, as a number or as text."""
        number = self._number(column, required, "", "a whole number, such as 5")
        if number is None or not self._within(column, number, Decimal(least), Decimal(most), ""):
            return None
        if number != number.to_integral_value():
            self.fault(column, f"A whole number is needed here: write {int(number)} or {int(number) + 1}.")
            return None
        return int(number)

    def decimal(
        self,
        column: str,
        *,
        unit: str = "",
        places: int = 3,
        least: Decimal = Decimal(0),
        most: Decimal = _MOST_NUMBER,
        required: bool = False,
    ) -> Decimal | None:
        """A number from `least` to `most`, rounded to `places` decimals, the unit behind it forgiven.

        A decimal comma is taken for a point, but a comma that may part thousands (1,234) is refused.
        """
        wanted = f"a number of {unit}, such as 98.5" if unit else "a number, such as 98.5"
        number = self._number(column, required, unit, wanted)
        if number is None or not self._within(column, number, least, most, unit):
            return None
        return number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)

    def decimal_mm(self, column: str, *, required: bool = False) -> Decimal | None:
        """A length of 0 to 5,000 mm to three decimals: 98.5, '98,5' or '98.5 mm'."""
        return self.decimal(column, unit="mm", most=MOST_MM, required=required)

    def yes_no(self, column: str, *, required: bool = False) -> bool | None:
        """Yes or no, also as y/n, true/false, 1/0 or ja/nein."""
        cell = self._cell(column, required)
        if cell is None or isinstance(cell, bool):
            return cell
        word = folded_name(_as_typed(cell))
        if word in _YES or word in _NO:
            return word in _YES
        self.fault(column, "Write yes or no.")
        return None

    def choice(self, column: str, choices: Sequence[str], *, required: bool = False) -> str | None:
        """One of the choices as it is spelt there, whatever case, spaces or dashes the cell has."""
        cell = self._cell(column, required)
        if cell is None:
            return None
        typed = tidy(_as_typed(cell))
        key = _SPACES_AND_DASHES.sub("", typed.casefold())
        for choice in choices:
            if _SPACES_AND_DASHES.sub("", choice.casefold()) == key:
                return choice
        near = nearest_name(typed, choices)
        hint = f" Perhaps {near} is meant." if near else ""
        self.fault(column, f"Write one of {', '.join(choices)}.{hint}")
        return None

    def printed_date(
        self,
        column: str,
        *,
        today: dt.date,
        convention: Convention = "",
        want: Want = "any",
        required: bool = False,
    ) -> PrintedDate | None:
        """A date as a cell or a label has it, read by `kit.planning.printed_dates` with its rules."""
        cell = self._cell(column, required)
        if cell is None:
            return None
        try:
            return read_printed_date(cell, convention, want, today=today)
        except DateFault as fault:
            self.fault(column, str(fault))
            return None

    def _cell(self, column: str, required: bool) -> CellValue | None:
        cell = self.row.values.get(column)
        if cell is UNREADABLE:
            self.faulty.add(column)
            return None
        if cell is None:
            default = self._defaults[column]
            if default is None and required:
                self.fault(column, f"Every row of {self._spec.name} needs {column}, and this cell is empty.")
            return default
        return cell

    def _number(self, column: str, required: bool, unit: str, wanted: str) -> Decimal | None:
        cell = self._cell(column, required)
        if cell is None:
            return None
        if isinstance(cell, (int, float)) and not isinstance(cell, bool) and math.isfinite(cell):
            return Decimal(repr(cell))
        if isinstance(cell, _DATED):
            self.fault(column, f"{_A_DATE}: format the cell as a number, then write {wanted}.")
            return None
        typed = tidy(unicodedata.normalize("NFKC", _as_typed(cell))).replace("\u2212", "-")
        found = _NUMBER.fullmatch(typed)
        if not found or found[5].strip().casefold() not in ("", unit.casefold()):
            self.fault(column, f"Write {wanted}, or leave the cell empty if there is none.")
            return None
        sign, whole, mark, fraction, _ = found.groups()
        if mark == "," and len(fraction) == 3 and len(whole) <= 3 and not whole.startswith("0"):
            self.fault(column, f"Is this {whole}.{fraction} or {whole}{fraction}? Write what is meant.")
            return None
        return Decimal(f"{sign}{whole}.{fraction or 0}")

    def _within(self, column: str, number: Decimal, least: Decimal, most: Decimal, unit: str) -> bool:
        unit = f" {unit}" if unit else ""
        if number < least:
            self.fault(column, f"It must not be less than {least:,f}{unit}.")
        elif number > most:
            self.fault(column, f"It must not be more than {most:,f}{unit}.")
        else:
            return True
        return False


def _as_typed(cell: CellValue) -> str:
    """A cell as the person who typed it would read it: no decimals behind a whole number."""
    if isinstance(cell, float) and not isinstance(cell, bool):
        return f"{Decimal(repr(cell)):f}".removesuffix(".0")
    return shown(cell) if not isinstance(cell, str) else cell


def _is_control(character: str) -> bool:
    """Control characters, halves and unassigned ones, and the marks that turn the direction of writing."""
    category = unicodedata.category(character)
    return category in ("Cc", "Cs", "Co", "Cn") or character in _TURNS
