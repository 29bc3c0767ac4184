"""The further columns of the sheet Checks: what calls for a check besides its date, and how its readings are judged.

A column that the sheet does not have leaves what was; a blank cell of one that it has empties it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from decimal import Decimal
from typing import Any

from inspections.actions.rules import UNITS
from inspections.judging import Interval, IntervalFault
from inspections.models import DecisionRule, Method
from kit.models import Role
from kit.workbooks.cells import RowReader

_MOST_DAYS = 3650
_MOST_USES = 10_000
# Enough for any pressure in mbar, time or class here; beyond it a slip of the keyboard is likelier.
MOST_NUMBER = Decimal(100_000)
_NEEDED = {
    Method.HOLD_TEST: ("unit", "max_drop"),
    Method.CALIBRATION: ("unit", "accuracy_class", "span"),
}


def read_rule(
    reader: RowReader, columns: Collection[str], gates: bool
) -> tuple[dict[str, Any], frozenset[str]]:
    """What the row says of the rule's further columns, and the names of those it empties."""
    said: dict[str, Any] = {}
    emptied = set()
    for name, read in _READERS.items():
        if name not in columns:
            continue
        value = read(reader, name)
        if value is None or value == "":
            if name in ("mark", "maker", "batch"):
                said[name] = ""
            elif name not in reader.faulty:
                emptied.add(name)
        else:
            said[name] = value
    _refuse(reader, said, gates)
    return said, frozenset(emptied)


def _refuse(reader: RowReader, said: dict[str, Any], gates: bool) -> None:
    for name in ("max_pressure", "hold_minutes", "accuracy_class", "span"):
        if said.get(name) == 0:
            reader.fault(name, "Nothing can be judged against 0: write the number as it is printed.")
    method = said.get("method")
    for name in _NEEDED.get(method, ()) if method else ():
        if name not in said and name not in reader.faulty:
            reader.fault(name, f"A {method} is judged by it, so it cannot be blank: write what is printed.")
    if gates and said.get("grace_days"):
        reader.fault(
            "grace_days", "This check gates, and a piece past its gate does not go out: write 0, or gates no."
        )


def _method(reader: RowReader, name: str) -> str | None:
    return reader.choice(name, Method.values)


def _unit(reader: RowReader, name: str) -> str | None:
    return reader.choice(name, UNITS)


def _number(reader: RowReader, name: str) -> Decimal | None:
    return reader.decimal(name, places=4 if name == "accuracy_class" else 6, most=MOST_NUMBER)


def _minutes(reader: RowReader, name: str) -> Decimal | None:
    return reader.decimal(name, unit="minutes", places=3, most=Decimal(1440))


def _yes_no(reader: RowReader, name: str) -> bool | None:
    return reader.yes_no(name)


def _days(reader: RowReader, name: str) -> int | None:
    return reader.whole_number(name, most=_MOST_DAYS)


def _uses(reader: RowReader, name: str) -> int | None:
    return reader.whole_number(name, most=_MOST_USES)


def _text(reader: RowReader, name: str) -> str:
    return reader.text(name, most=80)


def _mark(reader: RowReader, name: str) -> str:
    return reader.text(name, most=40)


def _interval(reader: RowReader, name: str) -> str | None:
    text = reader.text(name, most=20)
    if not text:
        return None
    try:
        return str(Interval.parse(text))
    except IntervalFault as fault:
        reader.fault(name, str(fault))
        return None


def _role(reader: RowReader, name: str) -> str | None:
    return reader.choice(name, Role.values)


def _decision(reader: RowReader, name: str) -> str | None:
    return reader.choice(name, DecisionRule.values)


_READERS: dict[str, Callable[[RowReader, str], Any]] = {
    "method": _method,
    "unit": _unit,
    "max_pressure": _number,
    "max_drop": _number,
    "hold_minutes": _minutes,
    "guard": _number,
    "accuracy_class": _number,
    "span": _number,
    "after_repair": _yes_no,
    "after_quarantine": _yes_no,
    "after_uses": _uses,
    "after_storage": _interval,
    "grace_days": _days,
    "procedure": _text,
    "done_by": _role,
    "decision": _decision,
    "mark": _mark,
    "maker": _text,
    "batch": _text,
}
