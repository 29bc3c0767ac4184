"""Loading a register: read every sheet and find every fault, then write all of it or nothing.

Each sheet has a loader in two steps: `read` looks at cells and fills the context with what later sheets refer to,
`apply` writes through the actions of the stores. Nothing is written while any sheet has a fault.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from django.db import IntegrityError

from kit.models import Deed, Item
from kit.ports import ports
from kit.stores import Act, NotAllowed, Who, acting, chunked, found_register, refit
from kit.workbooks.faults import Fault
from kit.workbooks.load_arrangements import ArrangementsLoader
from kit.workbooks.load_context import Context, KindNames, Progress, SheetLoader
from kit.workbooks.load_depots import DepotsLoader, WaysLoader
from kit.workbooks.load_items import ItemsLoader
from kit.workbooks.load_jobs import JobsLoader
from kit.workbooks.load_kinds import KindsLoader
from kit.workbooks.load_mains import MainsLoader
from kit.workbooks.load_report import LoadedRow, LoadReport, RowOutcome
from kit.workbooks.reading import RegisterFile, open_register

__all__ = [
    "Context",
    "KindNames",
    "LoadReport",
    "LoadedRow",
    "Progress",
    "RowOutcome",
    "SheetLoader",
    "load_register",
]


def _loaders() -> dict[str, Callable[[], SheetLoader]]:
    """In the order in which sheets build on each other."""
    plugged = ports.sheet_loaders
    order: dict[str, Callable[[], SheetLoader] | None] = {
        "Kinds": KindsLoader,
        "Checks": plugged.get("Checks"),
        "Readings": plugged.get("Readings"),
        "Items": ItemsLoader,
        # A test is evidence only on a gauge that was in calibration, by the sheets before it.
        **{name: plugged.get(name) for name in ("Inspections", "Calibrations", "Hold tests")},
        "Arrangements": ArrangementsLoader,
        "Mains": MainsLoader,
        "Jobs": JobsLoader,
        # Last: a way leads between depots that other sheets may be the first to name.
        "Depots": DepotsLoader,
        "Ways": WaysLoader,
    }
    return {name: loader for name, loader in order.items() if loader is not None}


class _NotWritten(Exception):
    """Ends the transaction of a dry run or of a file with faults."""


def load_register(
    path: str | Path,
    who: Who,
    dry_run: bool = False,
    progress: Progress = lambda done, total, text: None,
    name: str | None = None,
) -> LoadReport:
    """Load a register workbook or .csv: all or nothing. `name` is the file's name towards people.

    Raises RegisterFileError for a file that cannot be read at all. With faults, or `dry_run`, every table is as it
    was; the report's counts then say what would have been done (nothing is counted while there are faults).
    """
    register = open_register(path, name)
    report = LoadReport(faults=register.faults, warnings=register.warnings)
    try:
        with acting(who) as act:
            found_register(act)
            _load(act, register, report, Path(path), progress)
            if dry_run or report.faults:
                raise _NotWritten
        report.loaded = True
    except _NotWritten:
        pass
    except NotAllowed as refusal:
        report.faults.add(Fault(register.name, None, None, None, str(refusal)))
    except IntegrityError as error:
        why = f"The database refuses it ({str(error).splitlines()[0]}). Nothing was loaded."
        report.faults.add(Fault(register.name, None, None, None, why))
    if report.faults:
        report.rows.clear()
    return report


def _load(act: Act, register: RegisterFile, report: LoadReport, path: Path, progress: Progress) -> None:
    total = sum(sheet.row_count for sheet in register.sheets.values())
    context = Context(report, register.name, act.today, progress, total)
    loaders: list[SheetLoader] = []
    by_name = _loaders()
    for sheet_name, make in by_name.items():
        if (sheet := register.sheets.get(sheet_name)) is not None:
            loader = make()
            context.open_sheet(sheet)
            loader.read(sheet, context)
            loaders.append(loader)
    for sheet_name in register.sheets:
        if sheet_name not in by_name:
            why = "This sheet is known, but this version does not load it yet; its rows are left out."
            context.warn(sheet_name, None, None, None, why)
    if report.faults:
        return
    fitted = False
    for loader in loaders:
        if not fitted and isinstance(loader, (ArrangementsLoader, MainsLoader, JobsLoader)):
            # A job is judged by what its kit is now.
            _fit_touched(act, context)
            fitted = True
        context.say("writing")
        loader.apply(act, context)
    if report.faults:
        return
    if not fitted:
        _fit_touched(act, context)
    for follow in context.at_end:
        follow(act)
    new, changed = report.count("new"), report.count("changed")
    if new or changed:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        act.tell(
            Deed.LOADED,
            [f"file:{register.name}"],
            note=f"{register.name}: {new} new, {changed} changed, {report.count('unchanged')} unchanged",
            facts={"sha256": digest},
        )


def _fit_touched(act: Act, context: Context) -> None:
    """Derive due dates of all items that rows touched, once."""
    for chunk in chunked(sorted(context.touched), 1000):
        context.say("working out due dates")
        refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
