"""The real commands beside the recount: every difference as a sentence."""

from __future__ import annotations

import io
import json
from collections.abc import Iterable
from datetime import date
from typing import Any

from django.core.management import call_command

from inspections.models import Check as CheckRow
from kit.models import Kind as KindRow
from tests.recount.rows import Check, Kind, read_interval


def answer(*command: str) -> tuple[Any, int]:
    """What a command writes as JSON, and its exit code."""
    out = io.StringIO()
    code = 0
    try:
        call_command(*command, "--format", "json", stdout=out)
    except SystemExit as stop:
        code = int(stop.code or 0)
    return json.loads(out.getvalue()), code


def shipped() -> tuple[dict[str, Kind], dict[str, list[Check]]]:
    """Kinds and checks as shipped: settings, so they are given to the recount and not worked out."""
    kinds = {k.name: Kind(k.name, k.counted, k.turn_round_days, k.margin_days) for k in KindRow.objects.all()}
    checks: dict[str, list[Check]] = {name: [] for name in kinds}
    for row in CheckRow.objects.filter(retired=False).select_related("kind"):
        months, days = read_interval(row.interval)
        checks[row.kind.name].append(
            Check(row.name, months, days, row.basis == "anchor", row.early_days, row.gates)
        )
    return kinds, checks


def plain_kit_list(found: dict[str, Any]) -> dict[str, Any]:
    """The program's kit list without its texts, in the order in which the recount lists things."""
    lines = []
    for line in found["lines"]:
        entry = {key: line[key] for key in ("line", "kind", "needed", "short", "soonest")}
        assert isinstance(line["remedy"], str)
        assert bool(line["remedy"]) == bool(line["short"]), line
        if "lots" in line:
            assert "tags" not in line
            entry["lots"] = sorted((lot["lot"], lot["quantity"]) for lot in line["lots"])
        else:
            entry["tags"] = sorted(line["tags"])
        lines.append(entry)
    refused = []
    for entry in found["refused"]:
        assert all(reason["text"] for reason in entry["reasons"])
        why = [
            (reason["code"], date.fromisoformat(reason["date"]) if reason["date"] else None)
            for reason in entry["reasons"]
        ]
        refused.append((entry["tag"], entry["line"], sorted(why, key=repr)))
    return {
        **{key: found[key] for key in ("job", "as_of", "load_on", "return_on", "bore_mm", "complete")},
        "lines": lines,
        "refused": sorted(refused, key=repr),
        "also_fit": sorted((entry["tag"], entry["line"]) for entry in found["also_fit"]),
    }


def differences(what: str, program: Any, recount: Any) -> list[str]:
    """Where two answers of the same shape differ: what, then the program's, then the recount's."""
    if isinstance(program, dict) and isinstance(recount, dict):
        found = []
        for key in sorted({*program, *recount}):
            found += differences(f"{what} {key}", program.get(key), recount.get(key))
        return found
    if isinstance(program, list) and isinstance(recount, list):
        if len(program) == len(recount):
            pairs = enumerate(zip(program, recount, strict=True))
            return [one for n, (mine, theirs) in pairs for one in differences(f"{what}[{n}]", mine, theirs)]
        return [f"{what}: {_only(program, recount)} | recount: {_only(recount, program)}"]
    return [] if program == recount else [f"{what}: {program!r} | recount: {recount!r}"]


def _only(some: Iterable[Any], others: Iterable[Any]) -> list[Any]:
    rest = list(others)
    return [one for one in some if one not in rest]
