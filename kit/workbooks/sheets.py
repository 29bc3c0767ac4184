"""The sheets of a register workbook and their columns, as data.

The order of the sheets, and of the columns in each, is the order in which faults are reported.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

_NOT_A_LETTER: Final = re.compile(r"[\W_]+")


@dataclass(frozen=True, slots=True)
class ColumnSpec:
    """A column: its heading, whether the sheet must have it, and what a blank cell in it means.

    `default` is the text that stands for a blank cell; None where blank simply means nothing recorded.
    """

    name: str
    required: bool = False
    default: str | None = None


@dataclass(frozen=True, slots=True)
class SheetSpec:
    """A sheet that the register knows: its name and its columns in order."""

    name: str
    columns: tuple[ColumnSpec, ...]

    @property
    def required(self) -> tuple[str, ...]:
        """The headings that the sheet must have, in order."""
        return tuple(column.name for column in self.columns if column.required)

    @property
    def column_names(self) -> tuple[str, ...]:
        """All headings that the sheet may have, in order."""
        return tuple(column.name for column in self.columns)

    def column(self, name: str) -> ColumnSpec:
        """The column of that name; KeyError if the sheet has none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    def column_of_heading(self, heading: str) -> str | None:
        """The column that a heading as typed stands for ('Bore min (mm)' is bore_min_mm), or None."""
        key = folded_name(heading)
        return next((column.name for column in self.columns if folded_name(column.name) == key), None)


def folded_name(name: str) -> str:
    """A sheet name or heading with case, spaces, dashes, brackets and other marks left out of account."""
    return _NOT_A_LETTER.sub("", unicodedata.normalize("NFKC", name).casefold())


def nearest_name(name: str, known: Iterable[str]) -> str | None:
    """The known name that `name` was most likely meant for, or None if nothing comes near."""
    by_key = {folded_name(one): one for one in known}
    found = difflib.get_close_matches(folded_name(name), by_key, n=1, cutoff=0.6)
    return by_key[found[0]] if found else None


def _sheet(name: str, headings: str, **defaults: str) -> SheetSpec:
    """A sheet from its headings in order, a star behind those that it must have."""
    columns = (
        ColumnSpec(heading.rstrip("*"), heading.endswith("*"), defaults.get(heading.rstrip("*")))
        for heading in headings.split()
    )
    return SheetSpec(name, tuple(columns))


SHEETS: Final[tuple[SheetSpec, ...]] = (
    _sheet(
        "Items",
        "tag* kind* maker serial batch bore_min_mm bore_max_mm mark made_on use_by depot* place state"
        " quantity note set",
    ),
    _sheet("Inspections", "tag* check* done_on* verdict* by certificate note"),
    _sheet(
        "Checks",
        "kind* check* interval* basis early_days gates source method unit max_pressure max_drop hold_minutes"
        " guard accuracy_class span after_use after_repair after_quarantine after_uses after_storage grace_days"
        " procedure done_by decision mark maker batch",
        basis="done",
        early_days="0",
        gates="yes",
        method="plain",
        after_use="no",
    ),
    _sheet(
        "Jobs",
        "reference* depot* site load_on* return_on* main_material main_size main_sdr main_wall_mm bore_mm"
        " far_bore_mm ovality_mm lining_mm base_mark arrangement* crew priority",
    ),
    _sheet("Mains", "material* size* inside_mm outside_mm wall_mm source* note"),
    _sheet(
        "Arrangements",
        "arrangement* line* kind* quantity* match note side assembly instead",
        match="any",
        side="every",
    ),
    _sheet(
        "Kinds",
        "kind* counted bore mark serial batch use_by short_date maker turn_round_days margin_days"
        " bore_margin_mm sized_by",
    ),
    _sheet(
        "Hold tests",
        "tag* check* done_on* start_pressure* end_pressure* unit* minutes* start_c end_c gauge* by",
    ),
    _sheet("Calibrations", "gauge* check* done_on* direction* reference* as_found* as_left unit* by"),
    _sheet(
        "Readings",
        "kind* check* reading* label type* unit least most guard choices wanted doubtful needed help measured"
        " against breach needed_if not_before_test not_after_test source",
        needed="yes",
        not_before_test="no",
        not_after_test="no",
    ),
    _sheet("Depots", "depot* name bench_a_day"),
    _sheet("Ways", "from* to* lead_days*"),
)
"""Every sheet that a register workbook may have. Headings: DESIGN's register workbook, and a few more."""

SHEET_BY_NAME: Final = {sheet.name: sheet for sheet in SHEETS}


def sheet_called(title: str) -> SheetSpec | None:
    """The known sheet that a sheet's title stands for, case and spaces forgiven, or None."""
    key = folded_name(title)
    return next((sheet for sheet in SHEETS if folded_name(sheet.name) == key), None)
