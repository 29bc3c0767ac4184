"""The sheets Depots and Ways: what a bench does in a day, and how long a transfer takes from one depot to another."""

from __future__ import annotations

from dataclasses import dataclass

from kit.models import Depot, DepotLink
from kit.stores import Act, depot_named, name_depot, set_bench, set_link
from kit.stores.links import MOST_A_DAY, MOST_LEAD_DAYS
from kit.workbooks.load_context import Context
from kit.workbooks.load_report import RowOutcome
from kit.workbooks.register_sheet import RegisterSheet

_LEFT = "depots named"


@dataclass(slots=True)
class _DepotRow:
    row: int
    code: str
    name: str
    bench_a_day: int | None


class DepotsLoader:
    """New depots, their names, their benches. What a row leaves empty stays as it is."""

    def __init__(self) -> None:
        self.rows: list[_DepotRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        seen: dict[str, int] = {}
        for reader in context.readers(sheet):
            code = reader.text("depot", required=True, most=40)
            name = reader.text("name", most=120)
            bench = reader.whole_number("bench_a_day", most=MOST_A_DAY)
            if not code:
                continue
            if code in seen:
                reader.fault("depot", f"Row {seen[code]} names this depot already: keep one of the two.")
                continue
            seen[code] = reader.row.number
            self.rows.append(_DepotRow(reader.row.number, code, name, bench))
        context.left[_LEFT] = set(seen)

    def apply(self, act: Act, context: Context) -> None:
        for row in self.rows:
            known = Depot.objects.filter(code=row.code).exists()
            number = act.head[0]
            depot = depot_named(act, row.code)
            with context.writing("Depots", row.row):
                if row.name:
                    name_depot(act, depot, row.name)
                if row.bench_a_day is not None:
                    set_bench(act, depot, row.bench_a_day)
            context.note("Depots", row.row, row.code, _outcome(known, act.head[0] != number))


@dataclass(slots=True)
class _WayRow:
    row: int
    leaves: str
    to: str
    lead_days: int


class WaysLoader:
    """Ways in one direction each. A way that no row names stays as it is."""

    def __init__(self) -> None:
        self.rows: list[_WayRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        seen: dict[tuple[str, str], int] = {}
        codes = set(Depot.objects.values_list("code", flat=True)) | context.depots_with_items
        codes |= context.left.get(_LEFT, set())
        sure = not {"Items", "Depots"} & context.unclear
        for reader in context.readers(sheet):
            ends = [reader.text(column, required=True, most=40) for column in ("from", "to")]
            days = reader.whole_number("lead_days", required=True, most=MOST_LEAD_DAYS)
            for column, code in zip(("from", "to"), ends, strict=True):
                if code and code not in codes and sure:
                    hint = context.meant("depot", code, codes) or " Name it in the sheet Depots first."
                    reader.fault(column, f"There is no depot {code}.{hint}")
            leaves, to = ends
            if not leaves or not to:
                continue
            if leaves == to:
                reader.fault("to", f"A way leads from one depot to another: {leaves} to {to} is none.")
            elif (leaves, to) in seen:
                reader.fault("to", f"Row {seen[leaves, to]} gives this way already: keep one of the two.")
            elif days is not None:
                seen[leaves, to] = reader.row.number
                self.rows.append(_WayRow(reader.row.number, leaves, to, days))

    def apply(self, act: Act, context: Context) -> None:
        for row in self.rows:
            leaves, to = depot_named(act, row.leaves), depot_named(act, row.to)
            known = DepotLink.ever.filter(from_depot=leaves, to_depot=to).exists()
            with context.writing("Ways", row.row):
                changed = set_link(act, leaves, to, row.lead_days)
                context.note("Ways", row.row, f"{row.leaves} to {row.to}", _outcome(known, changed))


def _outcome(known: bool, changed: bool) -> RowOutcome:
    if not known:
        return "new"
    return "changed" if changed else "unchanged"
