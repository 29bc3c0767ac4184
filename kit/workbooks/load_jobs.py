"""The sheets Arrangements and Jobs."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from kit.models import Arrangement, Depot, Job, JobState, Kind, Match
from kit.stores import Act, LineSpec, change_job, chunked, depot_named, plan_job, set_arrangement
from kit.stores.act import canonical_of, canonical_value
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context, KindNames
from kit.workbooks.load_report import RowOutcome
from kit.workbooks.register_sheet import RegisterSheet


@dataclass(slots=True)
class _LineRow:
    row: int
    name: str
    kind: KindNames
    quantity: int
    match: str
    note: str


class ArrangementsLoader:
    """Rows of one arrangement, in the order of the sheet, are its lines."""

    def __init__(self) -> None:
        self.lines: dict[str, list[_LineRow]] = {}

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names: dict[str, str] = {}
        seen: dict[tuple[str, str], int] = {}
        for reader in context.readers(sheet):
            name = reader.text("arrangement", required=True, most=120)
            line = reader.text("line", required=True, most=80)
            kind = context.kind(reader)
            quantity = reader.whole_number("quantity", required=True, least=1, most=30_000)
            match = reader.choice("match", Match.values) or Match.ANY
            note = reader.text("note", most=500)
            if name:
                name = names.setdefault(name.casefold(), context.arrangements.get(name.casefold(), name))
                context.arrangements[name.casefold()] = name
            if name and line:
                key = (name, line.casefold())
                if key in seen:
                    reader.fault(
                        "line",
                        f"Row {seen[key]} is the line {line} of {name} already: give each line a name of its own.",
                    )
                    continue
                seen[key] = reader.row.number
            if name and line and kind and quantity:
                self.lines.setdefault(name, []).append(
                    _LineRow(reader.row.number, line, kind, quantity, match, note)
                )

    def apply(self, act: Act, context: Context) -> None:
        kinds = {kind.name: kind for kind in Kind.objects.all()}
        for name, rows in self.lines.items():
            existed = Arrangement.objects.filter(name=name).exists()
            before = set(
                Arrangement.objects.filter(name=name, current=True).values_list(
                    "lines__name", "lines__kind__name", "lines__quantity", "lines__match", "lines__note"
                )
            )
            specs = [
                LineSpec(row.name, kinds[row.kind.name], row.quantity, row.match, row.note) for row in rows
            ]
            _, made = set_arrangement(act, name, specs, source=f"workbook {context.file_name}"[:200])
            if made:
                context.new_versions.add(name)
            same = [(row.name, row.kind.name, row.quantity, row.match, row.note) in before for row in rows]
            # Where all lines are as before, their order differs or one was left out: the first row tells of it.
            only_order = made and all(same)
            for row, is_same in zip(rows, same, strict=True):
                outcome: RowOutcome = "new" if not existed else "changed"
                if existed and is_same and not (only_order and row is rows[0]):
                    outcome = "unchanged"
                what = "lines" if existed and only_order and row is rows[0] else ""
                context.note("Arrangements", row.row, f"{name}: {row.name}", outcome, what)


@dataclass(slots=True)
class _JobRow:
    row: int
    reference: str
    depot: str
    arrangement: str
    details: dict[str, Any] = field(default_factory=dict)


_TEXTS = {"site": 200, "main_material": 60, "main_size": 40, "main_sdr": 20, "base_mark": 40}


class JobsLoader:
    def __init__(self) -> None:
        self.rows: list[_JobRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        context.warn_unread(sheet, "priority")
        seen: dict[str, int] = {}
        existing = {job.reference: job for job in Job.objects.select_related("depot", "arrangement").all()}
        depots = set(Depot.objects.values_list("code", flat=True)) | context.depots_with_items
        for reader in context.readers(sheet):
            row = self._read_row(reader, sheet, context)
            reference = (
                row.reference
                if row
                else reader.text("reference", most=60)
                if "reference" not in reader.faulty
                else ""
            )
            if reference:
                if reference in seen:
                    reader.fault(
                        "reference",
                        f"Row {seen[reference]} is job {reference} already: a reference belongs to one job.",
                    )
                    continue
                seen[reference] = reader.row.number
            if row is None:
                continue
            job = existing.get(row.reference)
            if job is not None and job.state in (JobState.CLOSED, JobState.CANCELLED) and _differs(job, row):
                state = job.get_state_display().lower()
                reader.fault(
                    "reference",
                    f"{job} is {state} in the register: its details stay as they are. Leave the row out, "
                    "or plan a new job.",
                )
                continue
            self.rows.append(row)
            if row.depot not in depots:
                hint = context.meant("depot", row.depot, depots)
                why = f"No item is at this depot, in the register or in the file, so its kit will be short.{hint}"
                context.warn("Jobs", row.row, "depot", row.depot, why)

    @staticmethod
    def _read_row(reader: RowReader, sheet: RegisterSheet, context: Context) -> _JobRow | None:
        reference = reader.text("reference", required=True, most=60)
        depot = reader.text("depot", required=True, most=40)
        details: dict[str, Any] = {
            name: reader.text(name, most=most) for name, most in _TEXTS.items() if name in sheet.columns
        }
        for name in ("load_on", "return_on"):
            day = reader.printed_date(name, today=context.today, want="day", required=True)
            details[name] = day.day if day else None
        for name in ("bore_mm", "main_wall_mm"):
            if name in sheet.columns:
                details[name] = reader.decimal_mm(name)
                if details[name] == 0:
                    reader.fault(
                        name, "0 mm cannot be: write what was measured in mm, or leave the cell empty."
                    )
        load_on, return_on = details["load_on"], details["return_on"]
        if load_on and return_on and return_on < load_on:
            reader.fault(
                "return_on",
                f"The job would be back before it is loaded on {load_on}: one of the two is wrong.",
            )
        name = reader.text("arrangement", required=True, most=120)
        arrangement = context.arrangements.get(name.casefold(), "")
        if name and not arrangement and "Arrangements" not in context.unclear:
            hint = context.meant("arrangement", name, context.arrangements.values())
            reader.fault(
                "arrangement",
                f"There is no arrangement {name} in the register or in the sheet Arrangements.{hint}",
            )
        if not reference or not depot or not arrangement or load_on is None or return_on is None:
            return None
        return _JobRow(reader.row.number, reference, depot, arrangement, details)

    def apply(self, act: Act, context: Context) -> None:
        arrangements = {a.name: a for a in Arrangement.objects.filter(current=True)}
        depots: dict[str, Depot] = {
            code: depot_named(act, code) for code in sorted({row.depot for row in self.rows})
        }
        existing: dict[str, Job] = {}
        for chunk in chunked([row.reference for row in self.rows]):
            found = Job.objects.filter(reference__in=chunk).select_related("depot", "arrangement")
            existing.update((job.reference, job) for job in found)
        for row in self.rows:
            details = dict(row.details, depot=depots[row.depot], arrangement=arrangements[row.arrangement])
            job = existing.get(row.reference)
            if job is None:
                plan_job(act, Job(reference=row.reference, **details))
                context.note("Jobs", row.row, row.reference, "new")
                continue
            if job.arrangement.name == row.arrangement and row.arrangement not in context.new_versions:
                # A job keeps the version that it was planned with, unless this very file brings another one.
                del details["arrangement"]
            what = [
                name for name, value in details.items() if canonical_of(job, name) != canonical_value(value)
            ]
            if what and job.state in (JobState.CLOSED, JobState.CANCELLED):
                # Only its arrangement has a newer version: an ended job keeps the one it was done with.
                what = []
            if what:
                column = "arrangement" if "arrangement" in what else None
                with context.writing("Jobs", row.row, column, row.arrangement if column else None):
                    change_job(
                        act,
                        job,
                        note=f"row {row.row} of {context.file_name}",
                        **{name: details[name] for name in what},
                    )
            context.note("Jobs", row.row, row.reference, "changed" if what else "unchanged", ", ".join(what))


def _differs(job: Job, row: _JobRow) -> bool:
    """True if the row says something else than the job, its arrangement compared by name."""
    if job.depot.code != row.depot or job.arrangement.name != row.arrangement:
        return True
    return any(canonical_of(job, name) != canonical_value(value) for name, value in row.details.items())
