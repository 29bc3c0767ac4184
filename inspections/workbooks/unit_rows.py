"""Further rows of one check in the sheet Checks: its limits as they are printed for gauges in another unit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from inspections.actions import CheckSpec
from inspections.actions.rules import UNITS
from inspections.workbooks.rule_columns import MOST_NUMBER
from kit.workbooks.cell_text import CellValue, Mark, tidy
from kit.workbooks.cells import RowReader

_PRINTED = ("max_pressure", "max_drop", "guard")
LIMIT_COLUMNS = frozenset({"unit", *_PRINTED})


@dataclass(frozen=True, slots=True)
class FurtherUnit:
    """The limits of one such row, as text, in `unit`."""

    row: int
    kind: str
    check: str
    unit: str
    limits: dict[str, str]

    def belongs_to(self, kind: str, check: str) -> bool:
        return (self.kind, self.check.casefold()) == (kind, check.casefold())


def is_further_unit(first: RowReader, reader: RowReader) -> bool:
    """Whether a row differs from the first of its check by the unit and its limits alone; blank cells say the same."""
    here, there = reader.row.values, first.row.values
    if here.get("unit") is None or there.get("unit") is None or _same(here["unit"], there["unit"]):
        return False
    if there.get("span") is not None:
        return False  # a gauge has one dial
    return all(
        value is None or column in LIMIT_COLUMNS or _same(value, there.get(column))
        for column, value in here.items()
    )


def read_further_unit(
    reader: RowReader, kind: str, check: str, earlier: Iterable[FurtherUnit]
) -> FurtherUnit:
    """The row's limits, with a fault for each cell that holds none."""
    unit = reader.choice("unit", UNITS) or ""
    for each in earlier:
        if unit and each.unit == unit and each.belongs_to(kind, check):
            reader.fault("unit", f"Row {each.row} gives its limits in {unit} already: keep one of the two.")
    limits: dict[str, str] = {}
    for name in _PRINTED:
        value = reader.decimal(name, places=6, most=MOST_NUMBER)
        if value == 0 and name == "max_pressure":
            reader.fault(name, "Nothing can be judged against 0: write the number as it is printed.")
        elif value is not None:
            limits[name] = format(value.normalize(), "f")
    if not limits and not reader.faulty:
        reader.fault(
            "unit",
            f"This row says nothing for {unit}: write its limits as they are printed, or leave it out.",
        )
    return FurtherUnit(reader.row.number, kind, check, unit, limits)


def with_units(spec: CheckSpec, kind: str, further: Iterable[FurtherUnit]) -> CheckSpec:
    """The check with the limits that the further rows give for other units."""
    mine = {each.unit: each.limits for each in further if each.belongs_to(kind, spec.name)}
    return replace(spec, other_limits=mine)


def _same(one: CellValue | Mark | None, other: CellValue | Mark | None) -> bool:
    if isinstance(one, str) and isinstance(other, str):
        return tidy(one).casefold() == tidy(other).casefold()
    return one == other or _number(one) == _number(other) is not None


def _number(cell: CellValue | Mark | None) -> Decimal | None:
    """A number, whether it was typed as one or as text."""
    try:
        return Decimal(str(cell))
    except ArithmeticError:
        return None
