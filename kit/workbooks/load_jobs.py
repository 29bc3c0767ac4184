"""The sheet Jobs."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from kit.models import Arrangement, Depot, Job, JobState
from kit.stores import Act, change_job, chunked, depot_named, plan_job
from kit.stores.act import canonical_of, canonical_value
from kit.stores.plan_job import PRIORITIES
from kit.workbooks.cells import MOST_MM, RowReader
from kit.workbooks.load_context import Context
from kit.workbooks.register_sheet import RegisterSheet


@dataclass(slots=True)
class _JobRow:
    row: int
    reference: str
    depot: str
    arrangement: str
    details: dict[str, Any] = field(default_factory=dict)


_TEXTS = {"site": 200, "main_material": 60, "main_size": 40, "main_sdr": 20, "base_mark": 40, "crew": 60}
_LENGTHS = {
    "bore_mm": MOST_MM,
    "far_bore_mm": MOST_MM,
    "main_wall_mm": Decimal(500),
    "ovality_mm": Decimal(500),
    "lining_mm": Decimal(500),
}
"""The most that each may be, in mm: plausible, and what its column holds; common practice, no source."""

_MAY_BE_0 = {"ovality_mm", "lining_mm"}


class JobsLoader:
    def __init__(self) -> None:
        self.rows: list[_JobRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
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
        for name, most in _LENGTHS.items():
            if name in sheet.columns:
                details[name] = reader.decimal(name, unit="mm", most=most)
                if details[name] == 0 and name not in _MAY_BE_0:
                    reader.fault(
                        name, "0 mm cannot be: write what was measured in mm, or leave the cell empty."
                    )
        _refuse_ovality(reader, details)
        if "priority" in sheet.columns:
            least, most_of_all = PRIORITIES[0], PRIORITIES[-1]
            priority = reader.whole_number("priority", least=least, most=most_of_all)
            details["priority"] = least if priority is None else priority
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


def _refuse_ovality(reader: RowReader, details: dict[str, Any]) -> None:
    """A fault where a main would be out of round by its whole bore or more."""
    bores = [details.get(name) for name in ("bore_mm", "far_bore_mm")]
    least = min((bore for bore in bores if bore), default=None)
    if least is not None and (details.get("ovality_mm") or 0) >= least:
        reader.fault(
            "ovality_mm",
            f"It is as much as the bore of {least.normalize():f} mm: write the greatest less the least diameter.",
        )


def _differs(job: Job, row: _JobRow) -> bool:
    """True if the row says something else than the job, its arrangement compared by name."""
    if job.depot.code != row.depot or job.arrangement.name != row.arrangement:
        return True
    return any(canonical_of(job, name) != canonical_value(value) for name, value in row.details.items())
