"""The sheet Arrangements: rows of one arrangement, in the order of the sheet, are its lines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from kit.models import Arrangement, Kind, Match, Side
from kit.stores import Act, Instead, LineSpec, faults_of, set_arrangement, specs_of
from kit.stores.arrange import AskedKind, AskedLine
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context, KindNames
from kit.workbooks.load_report import RowOutcome
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Arrangements"
_LATER = frozenset({"side", "assembly", "instead"})
"""Columns that came later: a sheet without one keeps what the line has of it, as a depot's older file must."""


@dataclass(slots=True)
class _LineRow:
    reader: RowReader
    name: str
    kind: KindNames
    quantity: int
    match: str
    note: str
    side: str
    assembly: str
    instead: tuple[KindNames, ...]

    @property
    def asked(self) -> AskedLine:
        others = tuple(AskedKind(other.name, other.counted) for other in self.instead)
        kind = AskedKind(self.kind.name, self.kind.counted)
        return AskedLine(self.name, kind, self.quantity, self.assembly, others)


class ArrangementsLoader:
    def __init__(self) -> None:
        self.lines: dict[str, list[_LineRow]] = {}

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names: dict[str, str] = {}
        seen: dict[tuple[str, str], int] = {}
        unsound: set[str] = set()
        kept = _Kept(_LATER - sheet.columns.keys())
        for reader in context.readers(sheet):
            name = reader.text("arrangement", required=True, most=120)
            if name:
                name = names.setdefault(name.casefold(), context.arrangements.get(name.casefold(), name))
                context.arrangements[name.casefold()] = name
            row = _read_line(reader, context)
            line = row.name if row else reader.text("line", most=80) if "line" not in reader.faulty else ""
            if name and line:
                key = (name, line.casefold())
                if key in seen:
                    reader.fault(
                        "line",
                        f"Row {seen[key]} is the line {line} of {name} already: give each line a name of its own.",
                    )
                    continue
                seen[key] = reader.row.number
            if row is None or reader.faulty:
                unsound.add(name)
            if name and row is not None:
                self.lines.setdefault(name, []).append(kept.put_in(name, row, context))
        for name, rows in self.lines.items():
            for fault in faults_of([row.asked for row in rows]):
                # With a line that cannot be read, what makes up its assembly cannot be told.
                if fault.of != "assembly" or name not in unsound:
                    row = rows[fault.place]
                    row.reader.fault(fault.of if fault.of in sheet.columns else "line", fault.why)

    def apply(self, act: Act, context: Context) -> None:
        kinds = {kind.name: kind for kind in Kind.objects.all()}
        for name, rows in self.lines.items():
            current = Arrangement.objects.filter(name=name, current=True).first()
            before = specs_of(current) if current else []
            specs = [_spec(row, kinds, before) for row in rows]
            arrangement, made = set_arrangement(
                act, name, specs, source=f"workbook {context.file_name}"[:200]
            )
            if made:
                context.new_versions.add(name)
            same = [spec in before for spec in specs_of(arrangement)]
            # Where all lines are as before, their order differs or one was left out: the first row tells of it.
            only_order = made and all(same)
            for row, is_same in zip(rows, same, strict=True):
                outcome: RowOutcome = "new" if current is None else "changed"
                if current and is_same and not (only_order and row is rows[0]):
                    outcome = "unchanged"
                what = "lines" if current and only_order and row is rows[0] else ""
                context.note(SHEET, row.reader.row.number, f"{name}: {row.name}", outcome, what)


def _read_line(reader: RowReader, context: Context) -> _LineRow | None:
    """The line, or None if it has a fault that leaves it unclear what is needed."""
    line = reader.text("line", required=True, most=80)
    kind = context.kind(reader)
    quantity = reader.whole_number("quantity", required=True, least=1, most=30_000)
    match = reader.choice("match", Match.values) or Match.ANY
    note = reader.text("note", most=500)
    side = reader.choice("side", Side.values) or Side.EVERY
    assembly = reader.text("assembly", most=40)
    instead = _read_instead(reader, context)
    if not (line and kind and quantity):
        return None
    return _LineRow(reader, line, kind, quantity, match, note, side, assembly, instead)


def _read_instead(reader: RowReader, context: Context) -> tuple[KindNames, ...]:
    """The kinds of a cell, parted by semicolons, as far as there is no fault in it."""
    names = [name.strip() for name in reader.text("instead", most=400).split(";")]
    found = []
    for name in filter(None, names):
        kind = context.kind_called(name, reader, "instead")
        if "instead" in reader.faulty:
            return ()  # one fault a cell
        if kind is not None:
            found.append(kind)
    return tuple(found)


class _Kept:
    """What lines of the register have in columns that the sheet does not have."""

    def __init__(self, absent: Iterable[str]) -> None:
        self.absent = frozenset(absent)
        self.lines: dict[str, dict[str, LineSpec]] = {}

    def put_in(self, name: str, row: _LineRow, context: Context) -> _LineRow:
        if not self.absent:
            return row
        if name not in self.lines:
            current = Arrangement.objects.filter(name=name, current=True).first()
            self.lines[name] = {line.name: line for line in specs_of(current)} if current else {}
        line = self.lines[name].get(row.name)
        if line is None:
            return row
        if "side" in self.absent:
            row = replace(row, side=line.side)
        if "assembly" in self.absent:
            row = replace(row, assembly=line.assembly)
        if "instead" in self.absent:
            others = tuple(context.kinds[other.kind.name.casefold()] for other in line.instead)
            row = replace(row, instead=others)
        return row


def _spec(row: _LineRow, kinds: dict[str, Kind], before: Iterable[LineSpec]) -> LineSpec:
    """The line to set. The sheet has no notes on what may stand in: those of the register stay."""
    notes = {
        other.kind.name: other.note for line in before if line.name == row.name for other in line.instead
    }
    return LineSpec(
        row.name,
        kinds[row.kind.name],
        row.quantity,
        row.match,
        row.note,
        row.side,
        row.assembly,
        tuple(Instead(kinds[other.name], notes.get(other.name, "")) for other in row.instead),
    )
