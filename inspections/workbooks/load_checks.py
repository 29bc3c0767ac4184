"""The sheet Checks: it replaces the checks of the kinds that it names; an empty check means that a kind has none."""

from __future__ import annotations

from collections.abc import Collection

from inspections.actions import CheckSpec, set_checks
from inspections.judging import Interval, IntervalFault
from inspections.models import RULE_COLUMNS, Basis, Check
from inspections.workbooks.load_readings import with_form
from inspections.workbooks.rule_columns import read_rule
from inspections.workbooks.to_be import ToBe
from inspections.workbooks.unit_rows import (
    LIMIT_COLUMNS,
    FurtherUnit,
    is_further_unit,
    read_further_unit,
    with_units,
)
from kit.models import Item, Kind
from kit.stores import Act
from kit.stores.act import canonical_of
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context
from kit.workbooks.load_report import RowOutcome
from kit.workbooks.register_sheet import RegisterSheet

_MOST_EARLY_DAYS = 3650


class ChecksLoader:
    """Specs by kind, in the order of the sheet; the names go to the context for the sheet Inspections."""

    def __init__(self) -> None:
        self.specs: dict[str, list[tuple[int, CheckSpec | None]]] = {}
        self._further: list[FurtherUnit] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names: dict[str, dict[str, int]] = {}
        spelt = {
            (kind, name.casefold()): name for kind, name in Check.objects.values_list("kind__name", "name")
        }
        first_rows: dict[tuple[str, str], RowReader] = {}
        to_be = ToBe.of(context)
        for reader in context.readers(sheet):
            kind = context.kind(reader)
            name = reader.text("check", most=80)
            if kind is not None:
                # The same check in other letters is no new one: its records must go on counting.
                name = spelt.get((kind.name, name.casefold()), name)
                first = first_rows.get((kind.name, name.casefold()))
                if first is not None and name and is_further_unit(first, reader):
                    further = read_further_unit(reader, kind.name, name, self._further)
                    if not further.unit or reader.faulty - {"unit"}:
                        to_be.faulty_units.add((kind.name, name.casefold()))
                    if not reader.faulty:
                        self._further.append(further)
                    continue
            spec = self._read_spec(reader, name, sheet.columns)
            if kind is None:
                context.checks_of_unclear_kinds.add(name.casefold())
                continue
            if "check" in reader.faulty:
                context.kinds_of_unclear_checks.add(kind.name)
                continue
            seen = names.setdefault(kind.name, {})
            if name.casefold() in seen:
                what = f"the check {name}" if name else "that it has none"
                reader.fault(
                    "check",
                    f"Row {seen[name.casefold()]} gives {kind.name} {what} already: keep one of the two.",
                )
                continue
            seen[name.casefold()] = reader.row.number
            first_rows[kind.name, name.casefold()] = reader
            if reader.faulty:
                to_be.faulty_rules.add((kind.name, name.casefold()))
            self.specs.setdefault(kind.name, []).append((reader.row.number, spec))
        for kind_name, seen in names.items():
            if "" in seen and len(seen) > 1:
                # The empty check says "none", the others say otherwise.
                row = next(r for r in sheet.rows() if r.number == seen[""])
                RowReader(sheet.spec, row, context.report.faults).fault(
                    "check",
                    f"{kind_name} has checks in other rows, so this row cannot say that it has none: name the check.",
                )
        if LIMIT_COLUMNS & sheet.columns.keys():
            # What the sheet states are all the limits there are: those printed for other units are in rows of theirs.
            self.specs = {
                kind: [(row, spec and with_units(spec, kind, self._further)) for row, spec in rows]
                for kind, rows in self.specs.items()
            }
        to_be.specs = {kind: [spec for _, spec in rows if spec] for kind, rows in self.specs.items()}
        context.checks_of_kinds = {
            kind_name: {spec.name.casefold(): spec.name for _, spec in rows if spec}
            for kind_name, rows in self.specs.items()
        }

    @staticmethod
    def _read_spec(reader: RowReader, name: str, columns: Collection[str]) -> CheckSpec | None:
        if not name:
            return None
        if name.casefold() == "use-by":
            reader.fault(
                "check", "use-by is the name of the use-by date in the due list: give the check another name."
            )
        interval = reader.text("interval", most=20)
        if not interval and "interval" not in reader.faulty:
            reader.fault(
                "interval",
                "How often is it due? Write an ISO 8601 duration: P6M is 6 months, P90D 90 days, P1Y a year.",
            )
        elif interval:
            try:
                interval = str(Interval.parse(interval))
            except IntervalFault as fault:
                reader.fault("interval", str(fault))
        basis = reader.choice("basis", Basis.values) or Basis.DONE
        early_days = reader.whole_number("early_days", most=_MOST_EARLY_DAYS)
        gates = reader.yes_no("gates")
        source = reader.text("source")
        # Whether a use calls for it again follows the kind, unless the sheet says so itself.
        after_use = reader.yes_no("after_use") if reader.row.values.get("after_use") is not None else None
        said, emptied = read_rule(reader, columns, gates is not False)
        return CheckSpec(
            name,
            interval,
            basis,
            early_days or 0,
            gates is not False,
            source,
            after_use,
            **said,
            emptied=emptied,
        )

    def apply(self, act: Act, context: Context) -> None:
        for kind_name, rows in self.specs.items():
            kind = Kind.objects.get(name=kind_name)
            before = {check.name: check for check in Check.objects.in_force().filter(kind=kind)}
            had = {name: spec_of(check) for name, check in before.items()}
            changed = set_checks(
                act,
                kind,
                [with_form(spec, kind_name, context) for _, spec in rows if spec],
                derive=False,
            )
            if changed:
                context.touched.update(Item.objects.filter(kind=kind).values_list("pk", flat=True))
            now = {check.name: spec_of(check) for check in Check.objects.in_force().filter(kind=kind)}
            outcomes = [_outcome(spec, had, now) for _, spec in rows]
            gone = sorted(set(had) - set(now))
            if changed and set(outcomes) == {"unchanged"}:
                # Only what the sheet leaves out differs: the first row of the kind tells of it.
                outcomes[0] = "changed"
            for (row, spec), outcome in zip(rows, outcomes, strict=True):
                what = f"no longer asked for: {', '.join(gone)}" if gone and row == rows[0][0] else ""
                context.note("Checks", row, f"{kind_name}: {spec.name if spec else 'none'}", outcome, what)
            for each in self._further:
                for (_row, spec), outcome in zip(rows, outcomes, strict=True):
                    if spec and each.belongs_to(kind_name, spec.name):
                        context.note("Checks", each.row, f"{kind_name}: {spec.name} in {each.unit}", outcome)


def _outcome(
    spec: CheckSpec | None, had: dict[str, tuple[object, ...]], now: dict[str, tuple[object, ...]]
) -> RowOutcome:
    if spec is None:
        return "changed" if had else "unchanged"
    if spec.name not in had:
        return "new"
    return "unchanged" if had[spec.name] == now[spec.name] else "changed"


def spec_of(check: Check) -> tuple[object, ...]:
    """What a row says of a check, to tell whether it changed."""
    return tuple(canonical_of(check, name) for name in RULE_COLUMNS)
