"""The kit list as JSON has it."""

from __future__ import annotations

from datetime import date
from typing import Any

from kit.planning.kit_list import KitLine, KitList


def to_json(kit_list: KitList) -> dict[str, Any]:
    """The kit list as the plain values that JSON knows: dates as ISO text, the bore as a float or None.

    Beside the keys that every kit list has, a line of an assembly has `assembly`; one that holds pieces of a substitute
    kind `instead`, which piece is of which kind; and a list that is not proven best `proven`, which is false.
    """
    need = kit_list.need
    return {
        "job": need.job,
        "as_of": kit_list.as_of.isoformat(),
        "load_on": need.load_on.isoformat(),
        "return_on": need.return_on.isoformat(),
        "bore_mm": None if need.bore_mm is None else float(need.bore_mm),
        "complete": kit_list.complete,
        "lines": [_line_json(line) for line in kit_list.lines],
        "refused": [
            {
                "tag": each.tag,
                "line": each.line,
                "reasons": [
                    {"code": reason.code, "date": _iso(reason.date), "text": reason.text}
                    for reason in each.reasons
                ],
            }
            for each in kit_list.refused
        ],
        "also_fit": [{"tag": each.tag, "line": each.line} for each in kit_list.also_fit],
        **({} if kit_list.proven else {"proven": False}),
    }


def _line_json(kit_line: KitLine) -> dict[str, Any]:
    line = kit_line.line
    pieces: dict[str, Any] = {"tags": list(kit_line.tags)}
    if line.counted:
        pieces = {"lots": [{"lot": lot, "quantity": quantity} for lot, quantity in kit_line.lots]}
    return {
        "line": line.name,
        "kind": line.kind,
        "needed": line.quantity,
        **pieces,
        "short": kit_line.short,
        "soonest": _iso(kit_line.soonest),
        "remedy": kit_line.remedy,
        **_coupled_json(kit_line),
    }


def _coupled_json(kit_line: KitLine) -> dict[str, Any]:
    """What only lines with an assembly, or filled by a substitute, have to say."""
    told: dict[str, Any] = {}
    if kit_line.line.assembly:
        told["assembly"] = kit_line.line.assembly
    if kit_line.instead:
        told["instead"] = [{"tag": tag, "kind": kind} for tag, kind in kit_line.instead]
    return told


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
